"""The evidence of the settings that are built from rows, and what is said where no line says anything."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from auditor.core.state import Setting
from auditor.platforms.definition import Default
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row
from auditor.reading.source import Ref, Refs


class Sourced(Protocol):
    """Anything that knows the lines of its values."""

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values."""


Sources = Mapping[str, tuple[FieldName, ...]]
"""For each field of an item, the values of a source that it comes from; the field ``""`` stands for the whole item."""

Noted = tuple[Sourced, Sources]
"""A source, and what of an item comes from which of its values."""


class Evidence:
    """Where each setting was observed; the lines are looked up when asked for."""

    def __init__(self) -> None:
        self._noted: dict[tuple[str, str], list[Noted]] = {}
        self._asked: dict[str, Callable[[str], list[Noted]]] = {}

    def note(self, area: str, key: object, source: Sourced, sources: Sources) -> None:
        """Remember what an item of an area was read from, beside what was noted before."""
        self._noted.setdefault((area, str(key)), []).append((source, sources))

    def ask(self, area: str, sources: Callable[[str], list[Noted]]) -> None:
        """Have a whole area answered by a function from the key of an item to what would be noted of it."""
        self._asked[area] = sources

    def of(self, setting: Setting) -> list[Ref]:
        """Return the lines of a setting, or else of its whole item, each once and in order."""
        noted = self._noted.get((setting.area, setting.key), [])
        if setting.area in self._asked:
            noted = noted + self._asked[setting.area](setting.key)
        for name in (setting.field, ""):
            found = {ref for source, names in noted if name in names for ref in source.at(*names[name]) if ref.line}
            if found:
                return sorted(found)
        return []


@dataclass(slots=True)
class ReadingRemark:
    """Something that was read and cannot be kept as a setting; for the reader of a capture."""

    ref: Ref
    text: str


def apply_defaults(defaults: list[Default], row: Row, only: Collection[str] | None = None) -> None:
    """Fill what a row leaves unsaid with what its dialect takes an absent line to mean."""
    said = row.said
    for default in defaults:
        if all(said.get(name) == value for name, value in default.where.items()):
            for name, value in default.values.items():
                if only is None or name in only:
                    said.setdefault(name, value)


class Later:
    """Lines that are worked out from several rows, when asked for."""

    __slots__ = ("_lines",)

    def __init__(self, lines: Callable[[], Iterable[Ref]]) -> None:
        self._lines = lines

    def at(self, *names: FieldName) -> Refs:  # noqa: ARG002 - the same lines whatever is asked for
        """Return the lines."""
        return tuple(self._lines())
