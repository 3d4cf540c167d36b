"""Secrets of several lines: keys and certificates in their textual encodings, and quotes that end on a later line."""

from __future__ import annotations

import re
from collections.abc import Iterator

from auditor.redact.looks import Span

_ARMOUR = re.compile(r"-{4,5} ?BEGIN [^-\n]{2,60}-{4,5}")
"""The line above a key or certificate in the textual encodings of RFC 7468, and of RFC 4716."""
_ENDS = re.compile(r"-{4,5} ?END ")
_ARMOURED = re.compile(
    r"[ \t]*(?:\|[ \t]*)?[A-Za-z0-9+/=]{16,}[ \t]*$|[ \t]*[\w-]{2,30}: [^\n]*$|[ \t]*$", re.MULTILINE
)
"""A line of such a key, of what stands above it, or a blank one."""
_LONGEST = 65536
_STATEMENT = re.compile(r"[ \t]*(?:set|unset|config|edit)[ \t]+\S")


def armoured(text: str) -> Iterator[Span]:
    """Yield the lines between the marks of keys and certificates, or those behind a mark that nothing closes."""
    closed: int | None = -1
    for begins in _ARMOUR.finditer(text) if "BEGIN " in text else ():
        start = begins.end()
        if closed is not None and closed < start:
            ends = _ENDS.search(text, start)
            closed = ends.start() if ends else None
        if closed is not None and closed - start < _LONGEST:
            yield from _each_line(text, start, closed)
            continue
        stop = text.find("\n", start)
        while 0 <= stop < len(text) and (line := _ARMOURED.match(text, stop + 1)):
            stop = max(line.end(), stop + 1)
        yield from _each_line(text, start, stop)


def beyond(text: str, unclosed: list[int]) -> Iterator[Span]:
    """Yield the lines on which a value in double quotes goes on; ``unclosed`` is where the first ones end.

    Where the line that has the next quotes is a statement of its own, the first ones are closed nowhere.
    """
    for at in unclosed:
        closed = text.find('"', at + 1, at + 1 + _LONGEST)
        if closed >= 0 and not _STATEMENT.match(text, text.rfind("\n", 0, closed) + 1):
            yield from _each_line(text, at + 1, closed)


def _each_line(text: str, start: int, stop: int) -> Iterator[Span]:
    while start < stop:
        end = text.find("\n", start, stop)
        end = stop if end < 0 else end
        yield start, end
        start = end + 1
