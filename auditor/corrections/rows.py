"""A capture's sections as rows of words: what stands in one, whatever the dialect's way of saying it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from auditor.areas.block import Block
from auditor.platforms.render import part


@dataclass(frozen=True, slots=True)
class Row:
    """A section, or none. ``row["name|default-name"]`` is what it says for the first of these words, without quotes.

    Attributes:
        word: what a line matches that says something for a word, ``KEY``.
        block: the section.
    """

    word: str
    block: Block | None = None

    def __bool__(self) -> bool:
        return self.block is not None

    def __getitem__(self, words: str) -> str:
        return str(getattr(self, words)) if words in ("header", "last") else bare(self.raw(words))

    @property
    def header(self) -> str:
        """Its first line."""
        return self.block.header if self.block else ""

    @property
    def path(self) -> str:
        """Its first line but for the last word."""
        return self.header.rpartition(" ")[0]

    @property
    def last(self) -> str:
        """The last word of its first line."""
        return self.header.rpartition(" ")[2]

    @property
    def lines(self) -> list[str]:
        """What it says, lines that were broken in two put together again."""
        return "\n".join(self.block.lines if self.block else ()).replace("\\\n", "").split("\n")

    def raw(self, words: str) -> str:
        """Return what it says for the first of some words, to the letter; in ``group.key`` the group may be unsaid."""
        keys = [f"(?:{key.replace('.', ')?[.]', 1)}" if "." in key else key for key in words.split("|")]
        return next((value for key in keys for value in part(self.lines, self.word.replace("KEY", key))), "")

    def listed(self, word: str) -> list[str]:
        """Return all values of a word that are said with commas."""
        return [value for value in self[word].split(",") if value]


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a capture.

    Attributes:
        word: as in `Row`.
        blocks: the sections of the capture.
    """

    word: str
    blocks: Sequence[Block]

    def values(self) -> dict[str, Any]:
        """Return what templates use, by name."""
        places = [Row(self.word, block) for block in self.blocks]
        return {"rows": self.rows, "one": self.one, "headed": self.headed, "named": self.named, "places": places}

    def rows(self, header: str, words: str = "", value: Any = "") -> list[Row]:
        """Return the rows of a kind; with words, those that have a value for the first that they say."""
        found = [Row(self.word, block) for block in self.blocks if re.fullmatch(header, block.header)]
        wanted = bare(str(value))
        return [row for row in found if wanted and row[words] == wanted] if words else found

    def one(self, header: str, words: str = "", value: Any = "") -> Row:
        """Return the last such row, or one that says nothing."""
        return next(reversed(self.rows(header, words, value)), Row(self.word))

    def named(self, header: str, name: str) -> list[Row]:
        """Return the rows of a kind that have a name, or came with it."""
        return [row for row in self.rows(header) if name and name in (row["name"], row["default-name"])]

    def headed(self, header: str) -> Row:
        """Return the first row with a first line, or one that says nothing."""
        return next((Row(self.word, block) for block in self.blocks if block.header == header), Row(self.word))


def bare(raw: str) -> str:
    """Return a value without its quotes."""
    return re.sub(r'^"(.*)"$', r"\1", raw, flags=re.DOTALL)
