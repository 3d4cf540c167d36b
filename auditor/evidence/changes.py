"""What a report says came and went since the audit before: the history that tells it is not in the archive.

What can be told without it is that it is about the findings of this report, all of them and no others.
"""

from __future__ import annotations

from collections.abc import Iterator

from auditor.core.changes import Course, Since, Traced
from auditor.core.report import Report, finding_ids

_PAST: tuple[Course, ...] = ("gone", "not seen")
_NEW: tuple[Course, ...] = ("new", "since unknown", "came back")


def odds_of_changes(since: Since, report: Report) -> Iterator[str]:
    """Yield where changes contradict the report that they are about."""
    found = {finding.id: finding for finding in report.findings}
    for traced in since.findings:
        finding = found.get(traced.id) if traced.course not in _PAST else None
        here = finding is not None and (finding.consequence, finding.effect) == (traced.consequence, traced.effect)
        gone = traced.course in _PAST and traced.id not in found
        if not (here or gone) or not _possible(traced, report):
            yield f"since says of {traced.setting} on {traced.device} what its findings do not"
    traced_ids = [traced.id for traced in since.findings]
    if len(set(traced_ids)) < len(traced_ids) or not found.keys() <= set(traced_ids):
        yield "since does not have each finding once"


def _possible(traced: Traced, report: Report) -> bool:
    """Return whether a finding is called by its own id, and is as old as its course says."""
    new = traced.course in _NEW
    return (
        traced.id in finding_ids(traced.device, traced.setting)
        and (not new or traced.since == report.audited_on)
        and (traced.course != "came back" or traced.before is not None)
    )
