"""A section of a capture as people see it."""

from __future__ import annotations

from typing import NamedTuple


class Block(NamedTuple):
    """A section as people see it, secrets taken out.

    Attributes:
        header: its first line in the form that rules match; in trees, a blank within a quoted word is U+E000.
        file, number: where that line stands; the number is 0 where no line says it.
        lines: the lines below it without indentation; of statements, all of their lines.
        ordinal: how many sections whose first line begins with the same word stand before it in the same file.
    """

    header: str
    file: str
    number: int
    lines: list[str]
    ordinal: int
