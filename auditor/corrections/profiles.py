"""Values of interfaces that stand in profiles: in which row one is looked for, and changed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from auditor.corrections.rows import Row, Rows


@dataclass(frozen=True, slots=True)
class Profiles:
    """Looks values up. An interface says ``kind.word`` itself, or names a profile of the kind, which says ``word``.

    Attributes:
        rows: all rows.
        whole: the kind of profile that may name those of the others.
        without: how first lines of interfaces begin that say everything themselves.
    """

    rows: Rows
    whole: str
    without: str

    def values(self) -> dict[str, Any]:
        """Return what templates use, by name."""
        return {name: getattr(self, name) for name in ("holder", "holders", "held", "by_held")}

    def holder(self, row: Row, kind: str, word: str) -> tuple[Row, str]:
        """Return the row in which an interface's value stands or would stand, and its word there."""
        if row.header.startswith(self.without):
            return row, word
        wholes = self._profiles(row, self.whole, row)
        for place in (row, *wholes):
            name = word if place != row and kind == self.whole else f"{kind}.{word}"
            if place.raw(name):
                return place, name
            named = self._profiles(row, kind, place) if kind != self.whole else []
            if named:
                return named[0], word
        return (wholes[0], word) if wholes and kind == self.whole else (row, f"{kind}.{word}")

    def holders(self, rows: Iterable[Row], kind: str, word: str) -> list[tuple[Row, str]]:
        """Return where the values of some interfaces stand, each place once."""
        found: list[tuple[Row, str]] = []
        for row in rows:
            place = self.holder(row, kind, word)
            found += [place] if place not in found else []
        return found

    def held(self, row: Row, kind: str, word: str) -> str:
        """Return an interface's value; empty where none stands anywhere."""
        place, name = self.holder(row, kind, word)
        return place[name]

    def by_held(self, rows: Iterable[Row], kind: str, word: str) -> dict[str, list[Row]]:
        """Return interfaces by their value, those that have one."""
        found: dict[str, list[Row]] = {}
        for row in rows:
            if value := self.held(row, kind, word):
                found.setdefault(value, []).append(row)
        return found

    def _profiles(self, row: Row, kind: str, place: Row) -> list[Row]:
        return self.rows.rows(f"{row.path} {kind} add", "name", place[kind])[:1]
