"""Entries for the plan's ``deviations:``, ready to be pasted; who approves it, why and until when is left to people."""

from __future__ import annotations

from typing import Any

from auditor.core.report import Finding
from auditor.yamltree import Quoted, flow

NOTE = (
    "To approve a finding, put its entry under deviations: in the plan and fill in the reason, who approves it and "
    "the last day. What is approved stays as it is: an exposure stays one."
)
LABEL = "To approve it: an entry for deviations: in the plan"


def entry_of(finding: Finding) -> str:
    """Return an entry that covers a finding, as YAML in one line; the plan is refused until it is filled in."""
    entry = {
        "device": finding.device,
        "setting": finding.setting,
        "observed": _observed(finding),
        "reason": Quoted(),
        "approved_by": Quoted(),
        "ticket": Quoted(),
        "until": "YYYY-MM-DD",
    }
    return f"- {flow(entry)}"


def _observed(finding: Finding) -> Any:
    """Return a value as a deviation names it: whole items by their presence."""
    if finding.observed is None:
        return "absent"
    return "present" if isinstance(finding.observed, dict) and not finding.field else finding.observed
