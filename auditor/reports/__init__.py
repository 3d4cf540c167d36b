"""Report formats: each turns the one finished view into bytes. Adding one is a file here and a line below."""

from __future__ import annotations

from auditor.reports import csv, html, json, junit, markdown, pdf, sarif, schema, xlsx
from auditor.reports.interface import Format

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
