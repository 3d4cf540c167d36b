"""Statements of ``key=value`` words: what stands in one, and the commands that change, make and take away one."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from auditor.areas.reading import Block
from auditor.platforms.render import part

_WORD = r'(?:"(?:[^"\\]|\\.)*"|[^"])*?(?<![\w.-])KEY=("(?:[^"\\]|\\.)*"|[^\s"]*)(?: .*)?'
_PATH = r"(?:/[a-z -]+ )?"
_NOTHING = '""'


@dataclass(slots=True)
class Statements:
    """Reads and writes statements, or for the undo what was captured of them.

    Attributes:
        blocks: the sections of the capture: a first line is the path with ``add`` or ``set``.
        undoing: whether the undo is asked for.
        known_by: by path, the words that tell one statement from another; ``name`` for all others.
    """

    blocks: Sequence[Block]
    undoing: bool
    known_by: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def values(self) -> dict[str, Callable[..., Any]]:
        """Return what templates call, by name."""
        names = ("text", "val", "bare", "path", "rows", "masters", "alter", "make", "drop")
        return {name: getattr(self, name) for name in names}

    def text(self, block: Block) -> str:
        """Return a statement in one line."""
        return "\n".join(block.lines).replace("\\\n", "")

    def path(self, block: Block) -> str:
        """Return where a statement belongs."""
        return block.header.rsplit(" ", 1)[0]

    def val(self, block: Block, key: str) -> str:
        """Return the value of a word as it is written; of ``group.key``, the group is said or not."""
        name = f"(?:{key.replace('.', ')?[.]', 1)}" if "." in key else key
        return next(iter(part([self.text(block)], _WORD.replace("KEY", name))), "")

    def bare(self, block: Block, key: str) -> str:
        """Return the value of a word without its quotes."""
        return _bare(self.val(block, key))

    def rows(self, header: str, key: str = "", raw: Any = None) -> list[Block]:
        """Return the statements of a kind; with a key, those in which it has a value."""
        found = [block for block in self.blocks if block.header == header]
        return [block for block in found if raw and self.val(block, key) == str(raw)] if key else found

    def masters(self, block: Block) -> list[Block]:
        """Return the interfaces of a kind that one says it lies on, by their name or by that they came with."""
        kinds = {f"{self.path(block)} {verb}" for verb in ("add", "set")}
        name = self.val(block, "master-interface")
        told = (name, f"default-name={name} ")
        there = [each for each in self.blocks if name and each.header in kinds]
        return [each for each in there if self.val(each, "name") == told[0] or told[1] in self.text(each)]

    def alter(self, block: Block, new: Mapping[str, Any], comes_with: Mapping[str, str] | None = None) -> str:
        """Return the command that gives words other values; ``comes_with`` are those that go without saying."""
        known, differing = comes_with or {}, []
        for key, value in new.items():
            was = self.val(block, key) or known.get(key, _NOTHING)
            if _bare(was) != _bare(str(value)):
                differing.append(f"{key}={was if self.undoing else value}")
        where = self._where(block, new if self.undoing else {})
        return f"{self.path(block)} set{where} {' '.join(differing)}\n" if differing else ""

    def make(self, path: str, words: str, found_by: str) -> str:
        """Return the command that makes a statement; for the undo, the one that removes it by some of its words."""
        return f"{path} remove [find {found_by}]\n" if self.undoing else f"{path} add {words}\n"

    def drop(self, block: Block) -> str:
        """Return the command that removes a statement; for the undo, the statement as it was captured."""
        if not self.undoing:
            return f"{self.path(block)} remove{self._where(block, {})}\n"
        return f"{block.header} {part([self.text(block)], f'{_PATH}add (.*)')[0]}\n"

    def _where(self, block: Block, new: Mapping[str, Any]) -> str:
        own = part([self.text(block)], rf"{_PATH}set (\[ ?find [^\]]*\]|[\w-]+(?= )).*")
        if own:
            return " " + own[0].replace("[ ", "[").replace(" ]", "]")
        if not block.header.endswith(" add"):
            return ""
        keys = self.known_by.get(self.path(block), ["name"])
        return f" [find{''.join(f' {key}={new.get(key) or self.val(block, key)}' for key in keys)}]"


def _bare(raw: str) -> str:
    return re.sub(r'^"(.*)"$', r"\1", raw, flags=re.DOTALL) if raw.startswith('"') else raw
