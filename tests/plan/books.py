"""Plans written as workbooks, by a writer of the tests' own."""

from __future__ import annotations

import io
from datetime import date

from openpyxl import Workbook

NAMES = {"subnets": "name", "wifi": "ssid", "devices": "name"}


def workbook(sheets):
    """Return the bytes of a workbook of sheets, each a list of rows."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def sheets_of(plan, typed=False):
    """Return the sheets that say what a plan's data (as YAML has it) say.

    With ``typed`` numbers, days and truth values are cells of their own type, as a spreadsheet program makes them of
    what is typed in; without, everything is text.
    """
    once = {key: value for key, value in plan.items() if not isinstance(value, list) and key not in NAMES}
    sheets = {"plan": [["key", "value"], *([key, cell(v, typed)] for key, v in flat(once).items())]}
    for section, head in NAMES.items():
        rows = {name: dict(entry) for name, entry in plan.get(section, {}).items()}
        ports = [(name, port, told) for name, entry in rows.items() for port, told in entry.pop("ports", {}).items()]
        if rows:
            sheets[section] = table([{head: name, **flat(entry)} for name, entry in rows.items()], typed)
        if ports:
            told = [{"device": name, "port": port, **flat(entry)} for name, port, entry in ports]
            sheets["ports"] = table(told, typed)
    for section in ("reserved", "deviations"):
        if plan.get(section):
            sheets[section] = table([flat(entry) for entry in plan[section]], typed)
    if plan.get("links"):
        sheets["links"] = [["from", "to"], *plan["links"]]
    return sheets


def flat(entry, above=""):
    """Return an entry with its keys within keys as dotted columns; reservations stay together in one cell."""
    found = {}
    for key, value in entry.items():
        path = f"{above}{key}"
        if isinstance(value, dict) and key not in ("reservations", "options"):
            found.update(flat(value, f"{path}."))
        else:
            found[path] = value
    return found


def table(entries, typed):
    """Return rows under a row of all columns that any entry has."""
    heads = list(dict.fromkeys(key for entry in entries for key in entry))
    return [heads, *([cell(entry.get(head), typed) for head in heads] for entry in entries)]


def cell(value, typed):
    """Return what is typed into a cell: lists with commas, mappings in braces."""
    if value is None or (typed and isinstance(value, int | float | bool | date)):
        return value
    if isinstance(value, list):
        return ", ".join(str(cell(item, typed=False)) for item in value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: '{cell(item, typed=False)}'" for key, item in value.items()) + "}"
    return str(value).lower() if isinstance(value, bool) else str(value)
