"""Statements of ``key=value`` words: what stands in one, and the commands that change, make and take away one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from auditor.areas.block import Block
from auditor.corrections.profiles import Profiles
from auditor.corrections.rows import Row, Rows, bare
from auditor.platforms.render import part

_WORD = r'(?:"(?:[^"\\]|\\.)*"|[^"])*?(?<![\w.-])KEY=("(?:[^"\\]|\\.)*"|[^\s"\]]*)(?:[ \]].*)?'
_PATH = r"(?:/[a-z -]+ )?"
_NOTHING = '""'


@dataclass(slots=True)
class Statements:
    """Reads and writes statements, or for the undo what was captured of them.

    Attributes:
        blocks: the sections of the capture.
        undoing: whether the undo is asked for.
        known_by: by path, the words that tell one statement from another; ``name`` for all others.
        profiles: what `Profiles` knows of the dialect's profiles, if it has any.
    """

    blocks: Sequence[Block]
    undoing: bool
    known_by: Mapping[str, Sequence[str]] = field(default_factory=dict)
    profiles: Mapping[str, str] = field(default_factory=dict)

    def values(self) -> dict[str, Any]:
        """Return what templates use, by name."""
        rows = Rows(_WORD, self.blocks)
        looked_up = Profiles(rows, **self.profiles).values() if self.profiles else {}
        return rows.values() | looked_up | {"alter": self.alter, "make": self.make, "drop": self.drop}

    def alter(self, row: Row, new: Mapping[str, Any], usual: Mapping[str, str] | None = None, place: str = "") -> str:
        """Return the command that gives words other values.

        Args:
            row: the statement.
            new: the values by word.
            usual: those that go without saying.
            place: how the command begins if the statement is not there.
        """
        known, differing = usual or {}, []
        for key, value in new.items():
            was = row.raw(key) or known.get(key, _NOTHING)
            if bare(was) != bare(str(value)):
                differing.append(f"{key}={was if self.undoing else value or _NOTHING}")
        where = f"{row.path} set{self._where(row, new if self.undoing else {})}" if row else place
        return f"{where} {' '.join(differing)}\n" if differing else ""

    def make(self, path: str, words: Mapping[str, Any]) -> str:
        """Return the command that makes a statement; for the undo, the one that removes it."""
        if not self.undoing:
            return f"{path} add {_words(words)}\n"
        known = self.known_by.get(path, ("name",))
        return f"{path} remove [find {_words({key: words[key] for key in words if key in known})}]\n"

    def drop(self, row: Row) -> str:
        """Return the command that removes a statement; for the undo, the statement as it was captured."""
        if not self.undoing:
            return f"{row.path} remove{self._where(row, {})}\n"
        return f"{row.header} {part(row.lines, f'{_PATH}add (.*)')[0]}\n"

    def _where(self, row: Row, new: Mapping[str, Any]) -> str:
        own = part(row.lines, rf"{_PATH}set (\[ ?find [^\]]*\]|[\w-]+(?= )).*")
        if own:
            return " " + own[0].replace("[ ", "[").replace(" ]", "]")
        if not row.header.endswith(" add"):
            return ""
        keys = self.known_by.get(row.path, ("name",))
        return f" [find {_words({key: new.get(key) or row.raw(key) for key in keys})}]"


def _words(words: Mapping[str, Any]) -> str:
    return " ".join(f"{key}={value}" for key, value in words.items() if value)
