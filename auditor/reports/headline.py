"""The result of an audit in a sentence, and in a word or two: the same in every format and in a quiet run's line."""

from __future__ import annotations

from collections import Counter

from auditor.model.report import CONSEQUENCES, Consequence, Report, Verdict

_SENTENCES: dict[Verdict, str] = {
    "conforming": "Everything planned was seen as planned.",
    "nonconforming": "Not as planned.",
    "incomplete": "Incomplete: not everything could be verified. This is no proof that the site is as planned.",
}
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
        first: the effect of the first finding that nobody approved; empty where there is none.
    """
    counts = Counter(finding.consequence for finding in report.findings if finding.counts)
    if counts:
        head = "Not as planned:" if report.complete else "Incomplete, and"
        figures = [f"{counts[c]} {_FOUND[c][counts[c] > 1]}" for c in CONSEQUENCES if counts[c]]
        return f"{head} {', '.join(figures)}. First: {first.removesuffix('.')}."
    if report.verdict == "conforming" and any(path.state == "broken" for path in report.services.paths):
        return "What is judged was seen as planned, and yet a service path is broken: see there."
    if report.verdict == "conforming" and report.counts.unverified:
        return "What could be verified was seen as planned; what could not is listed below."
    return _SENTENCES[report.verdict]
