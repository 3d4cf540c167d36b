"""Report formats: each turns the one finished view into bytes. Adding one is a file here and a line below."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from auditor.reports import csv, html, json, junit, markdown, pdf, sarif, schema, xlsx
from auditor.reports.interface import Format
from auditor.reports.view import View

KNOWN: tuple[Format, ...] = (
    json.FORMAT,
    schema.FORMAT,
    markdown.FORMAT,
    html.FORMAT,
    csv.FORMAT,
    xlsx.FORMAT,
    sarif.FORMAT,
    junit.FORMAT,
    pdf.FORMAT,
)
"""All formats there are."""
FORMATS: tuple[Format, ...] = tuple(form for form in KNOWN if form.installed())
"""What ``--out`` writes: those that can be made here."""


def naming_files(view: View, forms: Iterable[Format]) -> View:
    """Return a view whose report says in which formats it is written: none can be taken away without a trace."""
    files = [form.file for form in forms]
    return replace(view, report=view.report.model_copy(update={"files": files}))
