"""A plan kept as a spreadsheet: one sheet a section, one row an entry; read into the same data as YAML.

The first row of a sheet names its columns, by the plan file's keys; ``dhcp.pool`` is the key ``pool`` within
``dhcp``. The sheet ``plan`` has two columns, key and value, for what is there once. Ports have a sheet of their own.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from auditor import yamltree
from auditor.yamltree import Path, YamlProblem, YamlTree

ENTRIES = {"subnets": "name", "wifi": "ssid", "devices": "name"}
"""Sheets of named entries, and the column that holds the name."""
LISTS = ("reserved", "deviations")
MAX_BYTES = 32 * 1024 * 1024
"""Most bytes that a workbook may have unpacked."""
_LISTED = frozenset({"on", "dns", "ntp", "syslog", "logins", "bands", "relay", "trunk", "pool"})
"""Columns whose cells hold several values, with commas between them."""
_SHEETS = ("plan", *ENTRIES, "ports", "links", *LISTS)


def parse(data: bytes) -> YamlTree:
    """Read a workbook; never raises for a bad one."""
    tree = YamlTree(value={})
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > MAX_BYTES:
                raise ValueError("it is larger than any plan")  # noqa: TRY301 - told like the others
        book = load_workbook(io.BytesIO(data), data_only=True, read_only=False)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        tree.problems.append(YamlProblem(0, (), f"this is no workbook: {error}"))
        tree.value = None
        return tree
    builder = _Builder(tree)
    for sheet in book.worksheets:
        rows = _rows(sheet.iter_rows(values_only=True))
        name = sheet.title.strip().lower()
        if name not in _SHEETS:
            if any(True for _ in rows):
                builder.wrong(1, (), sheet.title, f"no sheet has this name; known: {', '.join(_SHEETS)}")
            continue
        builder.sheet(sheet.title, name, list(rows))
    return tree


Row = tuple[int, dict[str, Any]]


def _rows(cells: Iterator[tuple[Any, ...]]) -> Iterator[Row]:
    """Yield number and cells by column name of each row that has any."""
    heads: list[str] = []
    for number, row in enumerate(cells, 1):
        values = [_cell(value) for value in row]
        if not any(value not in (None, "") for value in values):
            continue
        if not heads:
            heads = [str(value or "").strip() for value in values]
            continue
        named = {head: value for head, value in zip(heads, values, strict=False) if head and value not in (None, "")}
        yield number, named


def _cell(value: Any) -> Any:
    """Return a cell as YAML would have it: text, a number, true or false; flow values in brackets are parsed."""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, str):
        text = value.strip()
        if text[:1] in "{[" and text:
            parsed = yamltree.parse(text)
            return parsed.value if not parsed.problems else text
        return {"true": True, "false": False}.get(text.lower(), text)
    return value


class _Builder:
    def __init__(self, tree: YamlTree) -> None:
        self.tree = tree
        self.title = ""
        self.entries: set[Path] = set()

    def wrong(self, row: int, path: Path, title: str, message: str) -> None:
        self.tree.problems.append(YamlProblem(row, path, message))
        self.tree.sheets[path] = title

    def place(self, path: Path, row: int) -> None:
        self.tree.lines.setdefault(path, row)
        self.tree.sheets.setdefault(path, self.title)

    def sheet(self, title: str, name: str, rows: list[Row]) -> None:
        self.title = title
        self.place((name,), 1)
        for number, cells in rows:
            if name == "plan":
                self.single(number, cells)
            elif name == "links":
                ends = [str(value) for value in cells.values()][:2]
                self.append(("links",), number, ends)
            elif name == "ports":
                self.port(number, cells)
            elif name in LISTS:
                self.append((name,), number, _nested(cells))
            else:
                self.entry(name, number, cells)

    def single(self, number: int, cells: dict[str, Any]) -> None:
        """Take a row of the sheet ``plan``: a dotted key and its value."""
        key, value = (str(cells.get("key", "")), cells.get("value"))
        path: Path = tuple(key.split("."))
        holder = self.tree.value
        for step in path[:-1]:
            holder = holder.setdefault(step, {})
        holder[path[-1]] = _listed(str(path[-1]), value)
        for length in range(1, len(path) + 1):
            self.place(path[:length], number)

    def append(self, path: Path, number: int, value: Any) -> None:
        entries = self.tree.value.setdefault(path[0], [])
        self.place((*path, len(entries)), number)
        entries.append(value)

    def entry(self, section: str, number: int, cells: dict[str, Any]) -> None:
        """Take a row that is an entry of its own name."""
        name = str(cells.pop(ENTRIES[section], ""))
        entries = self.tree.value.setdefault(section, {})
        if not name or (section, name) in self.entries:
            what = f"{name!r} stands twice" if name else f"the column {ENTRIES[section]!r} is empty"
            self.wrong(number, (section, name), self.title, what)
            return
        self.entries.add((section, name))
        known = entries.setdefault(name, {})
        known.update(_nested(cells))
        self.place((section, name), number)

    def port(self, number: int, cells: dict[str, Any]) -> None:
        """Take a row of the sheet ``ports``: the device, the port or range of ports, and what it should be."""
        device, port = str(cells.pop("device", "")), str(cells.pop("port", ""))
        path: Path = ("devices", device, "ports", port)
        devices = self.tree.value.setdefault("devices", {})
        ports = devices.setdefault(device, {}).setdefault("ports", {})
        if not device or not port or port in ports:
            what = "expected a device and a port" if not (device and port) else f"{port!r} stands twice for {device}"
            self.wrong(number, path, self.title, what)
            return
        ports[port] = _nested(cells)
        self.place(path, number)


def _nested(cells: dict[str, Any]) -> dict[str, Any]:
    """Turn dotted columns into keys within keys."""
    found: dict[str, Any] = {}
    for key, value in cells.items():
        *above, last = key.split(".")
        holder = found
        for step in above:
            inner = holder.setdefault(step, {})
            holder = inner if isinstance(inner, dict) else {}
        holder[last] = _listed(last, value)
    return found


def _listed(key: str, value: Any) -> Any:
    if key in _LISTED and isinstance(value, str) and value != "all":
        return [part.strip() for part in value.split(",")]
    return value
