"""One line of configuration cut into words and quoted values, wherever in it one begins."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from typing import NamedTuple

from auditor.redact.looks import Span

_QUOTE = re.compile(r"(\\*)([\"'])")
_DOUBLE = re.compile('"')
_BLANKS = re.compile(r"[ \t]*")
_BARE = re.compile(r"\S+")
_BARE_INSIDE = re.compile(r"(?:\\[^rntRN\"'\s]|[^\s\"'\\])+")
"""A word within quotes: it ends before them, or where an end of line is spelt out."""


class Word(NamedTuple):
    """A word of a line: where it stands without its quotes, whether it has some, and whether more words follow."""

    start: int
    stop: int
    quoted: bool
    more: bool


class Line:
    """The line of a text that a place is in.

    Attributes:
        text: the whole text.
        start, end: where the line begins and ends in it.
        unclosed: whether a value was met whose quotes are not closed in the line.
    """

    def __init__(self, text: str, position: int) -> None:
        self.text = text
        self.start = text.rfind("\n", 0, position) + 1
        end = text.find("\n", position)
        self.end = len(text) if end < 0 else end
        self.unclosed = False
        self._quotes = [match.start() for match in _DOUBLE.finditer(text, self.start, self.end)]

    def inside(self, position: int) -> bool:
        """Return whether a place is within double quotes."""
        return bisect_left(self._quotes, position) % 2 == 1

    def words(self, position: int) -> Iterator[Word]:
        """Yield the words from a place on, at which one begins."""
        while position < self.end:
            quoted = _QUOTE.match(self.text, position, self.end)
            start, stop = self.value(position)
            behind = min(max(stop + (len(quoted[0]) if quoted else 0), position + 1), self.end)
            rest = _BARE.match(self.text, behind, self.end) if not quoted else None
            blanks = _BLANKS.match(self.text, rest.end() if rest else behind, self.end)
            assert blanks is not None
            position = blanks.end()
            yield Word(start, stop, quoted is not None, position < self.end)

    def value(self, position: int, end: int | None = None) -> Span:
        """Return what stands in quotes, without them, or the word that stands there."""
        text, end = self.text, self.end if end is None else end
        opened = _QUOTE.match(text, position, end)
        if opened:
            closed = self._closed(opened, end)
            self.unclosed |= closed < 0 and opened[0] == '"'
            return opened.end(), end if closed < 0 else closed
        bare = (_BARE_INSIDE if self.inside(position) else _BARE).match(text, position, end)
        return self._trimmed(*bare.span()) if bare else (position, position)

    def _closed(self, opened: re.Match[str], end: int) -> int:
        """Return where quotes are closed; -1 where they are not."""
        text, start = self.text, opened.end()
        if opened[1]:
            return text.find(opened[0], start, end)
        if opened[2] == '"':
            closed = text.find('"', start, end)
            while closed >= 0 and _escaped(text, closed, start):
                closed = text.find('"', closed + 1, end)
            return closed
        closed = text.find("'", start, end)
        while closed >= 0 and text.startswith("'\\''", closed):
            closed = text.find("'", closed + 4, end)
        return closed

    def _trimmed(self, start: int, stop: int) -> Span:
        """Return a word without the brackets around it and the signs behind it."""
        text = self.text
        opens = start
        while start < stop - 1 and text[start] == "(":
            start += 1
        whole = text[start:stop]
        while stop > start + 1 and (text[stop - 1] in ";,\"'`" or (text[stop - 1] in ")]}" and "(" not in whole)):
            stop -= 1
        return start, max(stop, opens)


def _escaped(text: str, position: int, start: int) -> bool:
    """Return whether a sign has an odd number of backslashes before it."""
    count = 0
    while position - count > start and text[position - count - 1] == "\\":
        count += 1
    return count % 2 == 1
