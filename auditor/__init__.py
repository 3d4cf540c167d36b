"""Proof that a small network runs as it was planned: plan, device configurations, one honest report.

    from auditor import SavedCaptures, audit, load_plan

    report = audit(load_plan("plan.yaml"), SavedCaptures("captures"))
    print(report.verdict, report.exit_code)

Each command of the command line is one call: ``review_plans``, ``write_expected``, ``capture_sites``, ``audit_sites``,
``site_history``, ``write_overview``, ``read_capture``, ``readable_platforms``, ``verify_evidence``, ``run_demo``.

The names below are imported when they are asked for, so that importing the package stays quick; type checkers see
them, and no others.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

__version__ = "0.2.0"
__all__ = [
    "Access",
    "AuditorError",
    "History",
    "Limits",
    "Listener",
    "Live",
    "PlanError",
    "Report",
    "SavedCaptures",
    "audit",
    "audit_sites",
    "capture_sites",
    "load_plan",
    "manual_pages",
    "read",
    "read_capture",
    "readable_platforms",
    "review_plans",
    "run_demo",
    "site_history",
    "verify_evidence",
    "write_expected",
    "write_overview",
]

if TYPE_CHECKING:
    from auditor.app.auditing import audit
    from auditor.app.capturing import Access
    from auditor.app.demo import run_demo
    from auditor.app.expectation import write_expected
    from auditor.app.keeping import site_history
    from auditor.app.manual import manual_pages
    from auditor.app.overview import write_overview
    from auditor.app.reading import read_capture, readable_platforms
    from auditor.app.reviewing import review_plans
    from auditor.app.rounds import Listener, Live, audit_sites, capture_sites
    from auditor.app.verifying import verify_evidence
    from auditor.areas import read
    from auditor.capture.files import SavedCaptures
    from auditor.capture.live import Limits
    from auditor.core.report import Report
    from auditor.errors import AuditorError, PlanError
    from auditor.history import History
    from auditor.plan.loader import load as load_plan
else:
    _HOMES = {
        "Access": "app.capturing",
        "AuditorError": "errors",
        "History": "history",
        "Limits": "capture.live",
        "Listener": "app.rounds",
        "Live": "app.rounds",
        "PlanError": "errors",
        "Report": "core.report",
        "SavedCaptures": "capture.files",
        "audit": "app.auditing",
        "audit_sites": "app.rounds",
        "capture_sites": "app.rounds",
        "load_plan": "plan.loader",
        "manual_pages": "app.manual",
        "read": "areas",
        "read_capture": "app.reading",
        "readable_platforms": "app.reading",
        "review_plans": "app.reviewing",
        "run_demo": "app.demo",
        "site_history": "app.keeping",
        "verify_evidence": "app.verifying",
        "write_expected": "app.expectation",
        "write_overview": "app.overview",
    }

    def __getattr__(name: str) -> object:
        import importlib  # noqa: PLC0415 - nobody needs it who asks for nothing

        if name not in _HOMES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        home = importlib.import_module(f"{__name__}.{_HOMES[name]}")
        return getattr(home, "load" if name == "load_plan" else name)
