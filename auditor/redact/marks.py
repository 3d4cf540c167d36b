"""A text whose wrapped lines are joined, and how marks are put in the place of what is taken out of it."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from auditor.redact.looks import Span

REDACTED = "<redacted>"
_WRAPPED = re.compile(r"\\\n {0,4}")
_END = re.compile("\n")
_KEPT = re.compile(r"\\\n {0,4}|\n")


class JoinedText:
    """A text of lines.

    Args:
        lines: as they stand in the capture.
        wraps: whether a line that ends with a backslash goes on in the next one.

    Attributes:
        text: the lines, each that goes on in the next one joined with it.
    """

    def __init__(self, lines: list[str], *, wraps: bool) -> None:
        whole = "\n".join(lines)
        pieces = _WRAPPED.split(whole) if wraps and "\\\n" in whole else [whole]
        self.text = "".join(pieces)
        self._whole = whole
        self._joints: list[int] = []
        self._gaps: list[int] = [0]
        if len(pieces) > 1:
            at = 0
            for piece, wrap in zip(pieces, _WRAPPED.finditer(whole), strict=False):
                at += len(piece)
                self._joints.append(at)
                self._gaps.append(self._gaps[-1] + len(wrap[0]))
        self._ends: list[int] | None = None

    def place(self, position: int) -> int:
        """Return where in the lines themselves a place of the joined text is."""
        return position + self._gaps[bisect_right(self._joints, position)] if self._joints else position

    def around(self, span: Span) -> Span:
        """Return the joined lines that a part of the text stands on."""
        end = self.text.find("\n", span[1])
        return self.text.rfind("\n", 0, span[0]) + 1, len(self.text) if end < 0 else end

    def numbers(self, span: Span) -> range:
        """Return the indexes of the lines that a part of the text stands on, and those joined with them."""
        start, end = self.around(span)
        ends = self._line_ends
        return range(bisect_left(ends, self.place(start)), bisect_left(ends, self.place(end)) + 1)

    def number(self, position: int) -> int:
        """Return the index of the line that a place of the text stands on."""
        return bisect_left(self._line_ends, self.place(position))

    def line(self, index: int) -> Span:
        """Return where in the text the line is that a line of the capture is joined into."""
        ends = self._line_ends
        place = ends[index - 1] + 1 if index else 0
        low, high = 0, len(self._joints)
        while low < high:
            middle = (low + high) // 2
            low, high = (middle + 1, high) if self._joints[middle] + self._gaps[middle + 1] <= place else (low, middle)
        position = max(place - self._gaps[low], self._joints[low - 1] if low else 0)
        return self.around((position, position))

    @property
    def _line_ends(self) -> list[int]:
        if self._ends is None:
            self._ends = [match.start() for match in _END.finditer(self._whole)]
        return self._ends

    def having(self, marks: Iterable[tuple[Span, str]]) -> list[str]:
        """Return the lines with marks in the place of parts of the text, which do not overlap; lines stay lines."""
        whole, found, at = self._whole, [], 0
        for (start, stop), mark in marks:
            first, behind = self.place(start), self.place(stop - 1) + 1
            found += [whole[at:first], mark, *_KEPT.findall(whole, first, behind)]
            at = behind
        return "".join([*found, whole[at:]]).split("\n")
