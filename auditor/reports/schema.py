"""report.schema.json: the JSON Schema of report.json, written beside it."""

from __future__ import annotations

import json
from importlib.metadata import version

from auditor.core.report import Report
from auditor.reports.interface import Format
from auditor.reports.view import View


def schema() -> str:
    """Return the JSON Schema of report.json as text."""
    described = Report.model_json_schema(mode="serialization")
    described["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    described["title"] = "auditor-report/2"
    return json.dumps(described, indent=2) + "\n"


def _render(view: View) -> bytes:  # noqa: ARG001 - the same for every report
    return schema().encode()


def _made_with() -> str:
    return f"pydantic {version('pydantic')}"


FORMAT = Format("report.schema.json", _render, made_with=_made_with)
