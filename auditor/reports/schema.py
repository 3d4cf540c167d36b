"""report.schema.json: the JSON Schema of report.json, written beside it; no version of a library has a say in it."""

from __future__ import annotations

from auditor.reports.interface import Format
from auditor.reports.view import View
from auditor.resources import read_text


def schema() -> str:
    """Return the JSON Schema of report.json as text."""
    return read_text("reports", "report.schema.json")


def _render(view: View) -> bytes:  # noqa: ARG001 - the same for every report
    return schema().encode()


FORMAT = Format("report.schema.json", _render)
