"""What came and went since the audit before, in words: one place for the wording of all formats."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.core.changes import COURSES, Course, Since, Traced
from auditor.reports.sanitize import sanitize
from auditor.reports.view import CONSEQUENCE_SIGNS

_COUNTED: dict[Course, str] = {
    "new": "new",
    "since unknown": "since unknown",
    "came back": "came back",
    "persists": "unchanged",
    "not seen": "not seen",
    "gone": "gone",
}
_TITLES: dict[Course, str] = {
    "new": "New",
    "since unknown": "Since unknown: the device was not audited before",
    "came back": "Came back",
    "persists": "Unchanged",
    "not seen": "Not seen this time, and not known to be gone",
    "gone": "Gone",
}
_RECAPTURED = "Captures that are the same as at the audit before, to the byte: read the device again if it was to be"
_MISSING: tuple[Course, ...] = ("not seen", "gone")


@dataclass(frozen=True, slots=True)
class SinceWords:
    """What came and went, for a report.

    Attributes:
        line: the figures in a sentence.
        marks: how each finding of the report fared, by its id.
        lists: findings that are not in the report, each list with its title.
    """

    line: str = ""
    marks: dict[str, str] = field(default_factory=dict)
    lists: list[tuple[str, list[str]]] = field(default_factory=list)


def since_words(since: Since | None) -> SinceWords:
    """Return the words; empty ones where there was no audit before."""
    if since is None:
        return SinceWords()
    present = [traced for traced in since.findings if traced.course not in _MISSING]
    missing = [entry for entry in courses(since) if entry[0] in {_TITLES[course] for course in _MISSING}]
    return SinceWords(
        line=_line(since),
        marks={traced.id: mark(traced) for traced in present},
        lists=missing + [(_RECAPTURED, [sanitize(name) for name in since.recaptured])] * bool(since.recaptured),
    )


def courses(since: Since) -> list[tuple[str, list[str]]]:
    """Return all findings by how they fared, each group with its title; empty groups are left out."""
    groups = [(_TITLES[course], [_told(traced) for traced in since.of(course)]) for course in COURSES]
    return [(title, texts) for title, texts in groups if texts]


def mark(traced: Traced) -> str:
    """Return how a finding fared, in a word or two."""
    before = f"last seen on {traced.before}" if traced.before else ""
    match traced.course:
        case "new" | "since unknown":
            return traced.course
        case "came back":
            return f"came back, {before}"
        case "persists":
            told = f"since {traced.since}"
        case "not seen" | "gone":
            told = f"present since {traced.since}"
    return f"{told}; before that, {before}" if before else told


def _line(since: Since) -> str:
    counts = [(len(since.of(course)), _COUNTED[course]) for course in COURSES]
    told = ", ".join(f"{count} {words}" for count, words in counts if count) or "no findings in either"
    plan = "; the plan has changed since" if since.plan_changed else ""
    return f"Since the audit of {since.day}: {told}{plan}"


def _told(traced: Traced) -> str:
    text = f"{sanitize(traced.device)} {sanitize(traced.setting)}: {sanitize(traced.effect)}"
    told = f"{CONSEQUENCE_SIGNS[traced.consequence]} {text}"
    when = mark(traced).removeprefix(f"{traced.course}").removeprefix(", ")
    return f"{told} ({when})" if when else told
