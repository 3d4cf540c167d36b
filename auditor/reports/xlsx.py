"""findings.xlsx, the report as a workbook: a sheet a part, to be filtered and passed on; no formula, no link."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from datetime import date, datetime, time
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from auditor.plan import workbook
from auditor.reports.interface import Format
from auditor.reports.tables import Table, TableCell, sheets
from auditor.reports.view import View

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

_LONGEST = 32_000
"""A cell holds 32,767 characters at most (ECMA-376 leaves it to the application; this is the usual one's limit)."""
_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
"""What ECMA-376, part 1, 22.9.2.19 (ST_Xstring) would read as a character by its number."""
_EPOCH = (1980, 1, 1, 0, 0, 0)
_FORMULA = tuple("=+-@")


def _render(view: View) -> bytes:
    from openpyxl import Workbook  # noqa: PLC0415 - heavy

    book = Workbook()
    book.remove(book.worksheets[0])
    for table in sheets(view):
        _fill(book.create_sheet(table.title), table)
    book.properties.creator = view.report.tool
    book.properties.title = view.title
    return _packed(book, view.report.audited_on)


def _fill(sheet: Worksheet, table: Table) -> None:
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415 - heavy
    from openpyxl.utils import get_column_letter  # noqa: PLC0415
    from openpyxl.worksheet.properties import PageSetupProperties  # noqa: PLC0415

    bold, wrapped = Font(bold=True), Alignment(vertical="top", wrap_text=True)
    heads: list[TableCell] = [head for head, _ in table.columns]
    for number, row in enumerate([heads, *table.rows], 1):
        for column, value in enumerate(row, 1):
            cell = sheet.cell(number, column)
            cell.alignment = wrapped
            if number == 1:
                cell.font = bold
            if isinstance(value, int):
                cell.value = value
                continue
            text = _text(value)
            cell.value = text or None
            if text:
                cell.data_type = "s"  # text, whatever it looks like: no formula, no error value
            cell.quotePrefix = text.startswith(_FORMULA)
    for column, (_, width) in enumerate(table.columns, 1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = sheet.dimensions
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _text(value: str | list[str]) -> str:
    text = "\n".join(value) if isinstance(value, list) else value
    text = _ESCAPED.sub("_x005F_", text)
    return f"{text[:_LONGEST]}… ({len(text) - _LONGEST} more characters)" if len(text) > _LONGEST else text


def _packed(book: Workbook, day: date) -> bytes:
    """Return a workbook's bytes, the same for the same contents: it was made on the day of the audit."""
    from openpyxl.xml.functions import tostring  # noqa: PLC0415 - heavy

    made = io.BytesIO()
    book.save(made)
    book.properties.created = book.properties.modified = datetime.combine(day, time())
    packed = io.BytesIO()
    with zipfile.ZipFile(made) as source, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            entry = zipfile.ZipInfo(name, _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            core = name == "docProps/core.xml"
            target.writestr(entry, tostring(book.properties.to_tree()) if core else source.read(name))
    return packed.getvalue()


def _made_with() -> str:
    from openpyxl import LXML  # noqa: PLC0415 - heavy

    other = [f"lxml {version('lxml')}"] if LXML else []
    return ", ".join([f"openpyxl {version('openpyxl')}", *other, f"zlib {zlib.ZLIB_RUNTIME_VERSION}"])


def _contents(data: bytes) -> list[tuple[str, list[tuple[Any, ...]]]] | None:
    """Return the cells of a workbook's sheets; ``None`` where it is damaged."""
    try:
        return workbook.sheets_of(data)
    except ValueError:
        return None


FORMAT = Format("findings.xlsx", _render, made_with=_made_with, contents=_contents)
