"""The evidence of the settings that are built from rows, and what is said where no line says anything."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from auditor.core.state import Setting
from auditor.platforms.definition import Default, any_of
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row
from auditor.reading.source import Ref, Refs


class Sourced(Protocol):
    """Anything that knows the lines of its values."""

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values."""


Sources = Mapping[str, tuple[FieldName, ...]]
"""For each field of an item, the values of a source that it comes from; the field ``""`` stands for the whole item."""

INSIDE: Sources = {"inside": ()}
"""Of a source that is a part of an item: none of its settings is read there, but what becomes of the part as a whole
is so of the item, too."""

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
        noted = self._sources(setting)
        for name in (setting.field, ""):
            found = {ref for source, names in noted if name in names for ref in source.at(*names[name]) if ref.line}
            if found:
                return sorted(found)
        return []

    def whole(self, setting: Setting) -> set[Ref]:
        """Return the lines of an item and of all of its fields, or of one field alone."""
        sources = self._sources(setting)
        wanted = (
            (source, names)
            for source, all_names in sources
            if all_names is not INSIDE
            for field, names in all_names.items()
            if setting.field in ("", field)
        )
        return {ref for source, names in wanted for ref in source.at(*names) if ref.line}

    def inside(self, setting: Setting) -> set[Ref]:
        """Return the first lines of the parts of an item."""
        return {ref for source, names in self._sources(setting) if names is INSIDE for ref in source.at() if ref.line}

    def _sources(self, setting: Setting) -> list[Noted]:
        noted = self._noted.get((setting.area, setting.key), [])
        return noted + self._asked[setting.area](setting.key) if setting.area in self._asked else noted


@dataclass(slots=True)
class ReadingRemark:
    """Something that was read and cannot be kept as a setting; for the reader of a capture."""

    ref: Ref
    text: str


def apply_defaults(defaults: list[Default], row: Row, only: Collection[str] | None = None) -> None:
    """Fill what a row leaves unsaid with what its dialect takes an absent line to mean."""
    said = row.said
    for default in defaults:
        for name, value in default.where.items():
            found = said.get(name)
            if found != value and (not isinstance(found, str | tuple) or not _is(found, value)):
                break
        else:
            for name, value in default.values.items():
                if only is None or name in only:
                    said.setdefault(name, value)


def _is(said: Any, wanted: Any) -> bool:
    """Return whether a value is the wanted one, or one of a list is; a text need match it only as a pattern."""
    if isinstance(said, tuple) and isinstance(wanted, str):
        return any(_is(each, wanted) for each in said)
    if not isinstance(said, str) or not isinstance(wanted, str):
        return bool(said == wanted)
    return said == wanted or (not wanted.isalpha() and any_of([wanted]).fullmatch(said) is not None)


class Later:
    """Lines that are worked out from several rows, when asked for."""

    __slots__ = ("_lines",)

    def __init__(self, lines: Callable[[], Iterable[Ref]]) -> None:
        self._lines = lines

    def at(self, *names: FieldName) -> Refs:  # noqa: ARG002 - the same lines whatever is asked for
        """Return the lines."""
        return tuple(self._lines())
