"""A plan kept as a spreadsheet: one sheet a section, one row an entry; read into the same data as YAML.

The first row of a sheet names its columns, by the plan file's keys; ``dhcp.pool`` is the key ``pool`` within
``dhcp``. The sheet ``plan`` has two columns, key and value, for what is there once. Ports have a sheet of their own.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any

from openpyxl import load_workbook

from auditor import yamltree
from auditor.yamltree import KeyPath, YamlProblem, YamlTree

ENTRIES = {"subnets": "name", "wifi": "ssid", "devices": "name"}
"""Sheets of named entries, and the column that holds the name."""
LISTS = ("reserved", "deviations")
MAX_BYTES = 32 * 1024 * 1024
"""Most bytes that a workbook may have unpacked."""
_LISTED = frozenset({"dns", "ntp", "syslog", "logins", "bands", "relay", "trunk", "pool"})
"""Columns whose cells hold several values, with commas between them; of a Wi-Fi name also ``on``."""
_SHEETS = ("plan", *ENTRIES, "ports", "links", *LISTS)
"""The sheets that there may be, in the order in which they are taken."""


def sheets_of(data: bytes) -> list[tuple[str, list[tuple[Any, ...]]]]:
    """Return the sheets of a workbook: their titles, and the values of their cells by rows.

    Raises:
        ValueError: it is damaged, or too large.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MAX_BYTES:
                raise ValueError("it is larger than any plan")  # noqa: TRY301 - told like the others
        book = load_workbook(io.BytesIO(data), data_only=True, read_only=False)
        return [(sheet.title, list(sheet.iter_rows(values_only=True))) for sheet in book.worksheets]
    except Exception as error:  # a damaged file breaks openpyxl in any way there is
        raise ValueError(str(error) or type(error).__name__) from error


def parse(data: bytes, file: str = "") -> YamlTree:
    """Read a workbook; never raises for a bad one. ``file`` is its name."""
    tree = YamlTree(value={}, file=file)
    try:
        sheets = sheets_of(data)
    except ValueError as error:
        tree.problems.append(YamlProblem(0, (), f"not a valid workbook: {error}"))
        tree.value = None
        return tree
    builder = _Builder(tree)
    known = {title.strip().lower(): (title, rows) for title, rows in sheets}
    for name in _SHEETS:
        if name in known:
            builder.sheet(name, *known[name])
    for title, rows in sheets:
        if title.strip().lower() not in _SHEETS and any(_is_filled(row) for row in rows):
            builder.title = title
            builder.wrong(1, (), f"no sheet has this name; known: {', '.join(_SHEETS)}")
    return tree


Cells = dict[str, Any]
"""The cells of a row by the name of their column."""


def _is_filled(row: Iterable[Any]) -> bool:
    return any(value is not None and str(value).strip() for value in row)


def _text(value: Any) -> str:
    """Return a cell as it would be typed into a plan file."""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "" if value is None else str(value).strip()


class _Builder:
    def __init__(self, tree: YamlTree) -> None:
        self.tree = tree
        self.title = ""
        self.taken: set[KeyPath] = set()

    def wrong(self, row: int, path: KeyPath, message: str) -> None:
        self.tree.problems.append(YamlProblem(row, path, message))
        self.tree.sheets[path] = self.title

    def place(self, path: KeyPath, row: int) -> None:
        self.tree.lines.setdefault(path, row)
        self.tree.sheets.setdefault(path, self.title)

    def sheet(self, name: str, title: str, rows: list[tuple[Any, ...]]) -> None:
        self.title = title
        self.place((name,), 1)
        for number, cells in self.rows(name, rows):
            if name == "plan":
                self.single(number, cells)
            elif name == "links":
                self.link(number, cells)
            elif name == "ports":
                self.port(number, cells)
            elif name in LISTS:
                self.append(name, number, cells)
            else:
                self.entry(name, number, cells)

    def rows(self, name: str, rows: list[tuple[Any, ...]]) -> Iterator[tuple[int, Cells]]:
        """Yield number and cells of each row that has any, below the row that names the columns."""
        heads: list[str] = []
        for number, row in enumerate(rows, 1):
            if not _is_filled(row):
                continue
            if not heads:
                heads = [_text(value) for value in row]
                for head in sorted({head for head in heads if head and heads.count(head) > 1}):
                    self.wrong(number, (name, head), "duplicate column: keep one of them")
                continue
            named: Cells = {}
            for head, value in zip([*heads, *[""] * len(row)], row, strict=False):
                if not _text(value):
                    continue
                if not head:
                    self.wrong(number, (name,), f"the cell {_text(value)!r} has no column name above it")
                named.setdefault(head, value)
            named.pop("", None)
            yield number, named

    def single(self, number: int, cells: Cells) -> None:
        """Take a row of the sheet ``plan``: a dotted key and its value."""
        self.put(self.tree.value, (), number, _text(cells.get("key")), cells.get("value"))

    def put(self, holder: Any, above: KeyPath, number: int, key: str, value: Any) -> None:
        """Put a value where a dotted key leads, below a place; tell of what would be lost."""
        steps = key.split(".")
        for index, step in enumerate(steps):
            path = (*above, *steps[: index + 1])
            last = index == len(steps) - 1
            if not isinstance(holder, dict) or (last and step in holder):
                self.wrong(number, path, "duplicate key, or part of a key that has a value of its own")
                return
            self.place(path, number)
            if last:
                holder[step] = self.value(path, number, value)
            holder = holder.setdefault(step, {})

    def value(self, path: KeyPath, number: int, value: Any) -> Any:
        """Return a cell's value: text, a list where commas make one, or what stands in brackets."""
        text, key = _text(value), path[-1]
        if text[:1] in ("{", "["):
            parsed = yamltree.parse(text)
            for problem in parsed.problems:
                self.wrong(number, path, problem.message)
            return parsed.value
        if key == "observed":
            return yamltree.parse(text).value if isinstance(value, str) else value
        if (key in _LISTED or (key == "on" and path[0] == "wifi")) and text != "all":
            return [part.strip() for part in text.split(",")]
        return text

    def nested(self, path: KeyPath, number: int, cells: Cells) -> dict[str, Any]:
        """Return a row's cells with dotted columns as keys within keys."""
        found: dict[str, Any] = {}
        self.place(path, number)
        for key, value in cells.items():
            self.put(found, path, number, key, value)
        return found

    def section(self, number: int, path: KeyPath, empty: Any) -> Any:
        """Return what holds the entries of a section; ``None``, and it is told, where something else stands there."""
        holder = self.tree.value
        for step in path[:-1]:
            holder = holder.setdefault(step, {}) if isinstance(holder, dict) else None
        found = holder.setdefault(path[-1], empty) if isinstance(holder, dict) else None
        if not isinstance(found, type(empty)):
            self.wrong(number, path, "already on the sheet 'plan', with another kind of value")
            return None
        return found

    def link(self, number: int, cells: Cells) -> None:
        ends = [_text(value) for value in cells.values()]
        entries = self.section(number, ("links",), [])
        if entries is not None:
            self.place(("links", len(entries)), number)
            entries.append(ends)

    def append(self, name: str, number: int, cells: Cells) -> None:
        """Take a row of a sheet whose entries have no names."""
        entries = self.section(number, (name,), [])
        if entries is not None:
            entries.append(self.nested((name, len(entries)), number, cells))

    def entry(self, section: str, number: int, cells: Cells) -> None:
        """Take a row that is an entry of its own name."""
        name = _text(cells.pop(ENTRIES[section], ""))
        entries = self.section(number, (section,), {})
        if entries is None:
            return
        if not name or name in entries:
            what = f"duplicate {name!r}" if name else f"the column {ENTRIES[section]!r} is empty"
            self.wrong(number, (section, name), what)
            return
        entries[name] = self.nested((section, name), number, cells)

    def port(self, number: int, cells: Cells) -> None:
        """Take a row of the sheet ``ports``: the device, the port or range of ports, and what it should be."""
        device, port = _text(cells.pop("device", "")), _text(cells.pop("port", ""))
        path: KeyPath = ("devices", device, "ports", port)
        if not device or not port:
            self.wrong(number, path, "expected a device and a port")
            return
        if device not in (self.tree.value.get("devices") or {}):
            self.wrong(number, path, f"the plan has no device named {device!r}")
            return
        ports = self.section(number, path[:-1], {})
        if ports is None:
            return
        if port in ports:
            self.wrong(number, path, f"duplicate port {port!r} of {device}")
            return
        ports[port] = self.nested(path, number, cells)
