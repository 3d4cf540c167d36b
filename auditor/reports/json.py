"""report.json, the machine's contract: the report as it is."""

from __future__ import annotations

from auditor.reports.interface import Format
from auditor.reports.view import View


def _render(view: View) -> bytes:
    return (view.report.model_dump_json(indent=2) + "\n").encode()


FORMAT = Format("report.json", _render)
