"""Proof that a small network runs as it was planned: plan, device configurations, one honest report.

    from auditor import SavedCaptures, audit, load_plan

    report = audit(load_plan("plan.yaml"), SavedCaptures("captures"))
    print(report.verdict, report.exit_code)

The names below are imported when they are asked for, so that importing the package stays quick.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.2.0"

_HOMES = {
    "AuditorError": ("auditor.errors", "AuditorError"),
    "History": ("auditor.history", "History"),
    "PlanError": ("auditor.errors", "PlanError"),
    "Report": ("auditor.core.report", "Report"),
    "SavedCaptures": ("auditor.capture.files", "SavedCaptures"),
    "audit": ("auditor.app.auditing", "audit"),
    "load_plan": ("auditor.plan.loader", "load"),
    "read": ("auditor.reading", "read"),
}
__all__ = ["AuditorError", "History", "PlanError", "Report", "SavedCaptures", "audit", "load_plan", "read"]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _HOMES[name]
    return getattr(importlib.import_module(module), attribute)
