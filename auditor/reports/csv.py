"""findings.csv, for spreadsheets and scripts: RFC 4180, a row each, with nothing that a spreadsheet would calculate."""

from __future__ import annotations

import csv
import io

from auditor.reports.interface import Format
from auditor.reports.tables import TableCell, one_table
from auditor.reports.view import View

_FORMULA = tuple("=+-@\t\r\n＝＋－＠")  # noqa: RUF001 - OWASP, "CSV Injection", names the wide signs as well


def _render(view: View) -> bytes:
    table = one_table(view)
    stream = io.StringIO()
    writer = csv.writer(stream, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(head for head, _ in table.columns)
    writer.writerows([_inert(cell) for cell in row] for row in table.rows)
    return stream.getvalue().encode("utf-8-sig")  # the mark without which spreadsheets take it for another encoding


def _inert(cell: TableCell) -> str:
    """Return a cell as text that no spreadsheet takes for a formula: one that could be taken so is quoted by ``'``."""
    text = "; ".join(cell) if isinstance(cell, list) else str(cell)
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) else text


FORMAT = Format("findings.csv", _render)
