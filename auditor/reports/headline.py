"""The result of an audit in a sentence, and in a word or two: the same in every format and in a quiet run's line."""

from __future__ import annotations

from collections import Counter

from auditor.core.report import CONSEQUENCES, Consequence, Report, Verdict

_SENTENCES: dict[Verdict, str] = {
    "conforming": "Everything planned was verified and is as planned{unchecked}.",
    "nonconforming": "Not as planned{unchecked}.",
    "incomplete": (
        "Incomplete: not everything could be verified{unchecked}. This does not prove that the site is as planned."
    ),
}
_BROKEN = "All judged settings are as planned, but a service path is broken: see Service paths{unchecked}."
_IN_PART = "All that could be verified is as planned; the rest is listed below{unchecked}."
_UNCHECKED = "; isolation not checked"
"""What is said where the plan isolates subnets: nothing of that is seen as long as no packet filters are read."""
_FOUND: dict[Consequence, tuple[str, str]] = {
    "exposure": ("exposure", "exposures"),
    "outage": ("outage", "outages"),
    "upkeep": ("for upkeep", "for upkeep"),
}
"""What findings of a consequence are called behind their number: one of them, and several."""


def verdict_words(verdict: Verdict, *, nonconforming: bool) -> str:
    """Return a verdict for people: what is incomplete and has findings as well is never called only one of them."""
    return "incomplete and nonconforming" if verdict == "incomplete" and nonconforming else verdict


def headline_of(report: Report, first: str) -> str:
    """Return the result in a sentence or two.

    Args:
        report: the report.
        first: the effect of the first finding that is not approved; empty where there is none.
    """
    unchecked = _UNCHECKED if any(separated.isolated for separated in report.services.separated) else ""
    counts = Counter(finding.consequence for finding in report.findings if finding.counts)
    if counts:
        head = "Not as planned:" if report.complete else "Incomplete, and"
        figures = [f"{counts[c]} {_FOUND[c][counts[c] > 1]}" for c in CONSEQUENCES if counts[c]]
        return f"{head} {', '.join(figures)}{unchecked}. First: {first.removesuffix('.')}."
    sentence = _SENTENCES[report.verdict]
    if report.verdict == "conforming" and any(path.state == "broken" for path in report.services.paths):
        sentence = _BROKEN
    elif report.verdict == "conforming" and report.counts.unverified:
        sentence = _IN_PART
    return sentence.format(unchecked=unchecked)
