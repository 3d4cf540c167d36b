"""What a terminal would show of a line: backspaces, carriage returns and control sequences carried out.

The sequences are those of ECMA-48 and of DEC's VT100 (from memory).
"""

from __future__ import annotations

import re

UNSEEN = ("\x00", "\x07", "\x08", "\x1b", "\x7f")
"""Signs that are never shown themselves."""
_WIDEST = 512
"""How far a movement beyond the end of the text goes: no terminal is wider."""
_PIECES = re.compile(
    r"\x1b\[(?P<numbers>[0-?]*)[ -/]*(?P<control>[@-~])"
    r"|\x1b[\]P_^X].*?(?:\x07|\x1b\\|$)"
    r"|\x1b(?P<escape>[0-Z\\^-~])|\x1b[ -/]*[0-~]?"
    r"|(?P<typed>[\x08\r])|[\x00\x07\x7f]"
    r"|(?P<text>[^\x00\x07\x08\r\x1b\x7f]+)"
)
_ANOTHER_ROW = frozenset("ABEFLMSTde")
"""Controls after which text goes into another row, or rows are moved."""
_ESCAPES_TO_ANOTHER_ROW = frozenset("DEMc")


def needs_terminal(line: str) -> bool:
    """Return whether a line has anything that a terminal carries out, but for the return at its end."""
    return "\r" in line.rstrip("\r") or any(mark in line for mark in UNSEEN)


def as_shown(line: str) -> list[str]:
    """Return the rows that a terminal would show of a line; one, unless the cursor is sent away from text."""
    rows = _Rows()
    for piece in _PIECES.finditer(line):
        kind = piece.lastgroup
        if kind == "text":
            rows.write(piece["text"])
        elif kind == "typed":
            rows.column = 0 if piece["typed"] == "\r" else max(0, rows.column - 1)
        elif kind == "control":
            rows.control(piece["control"], piece["numbers"])
        elif kind == "escape":
            rows.escape(piece["escape"])
    return ["".join(row) for row in (*rows.above, rows.row)]


class _Rows:
    """The row that the cursor is in, its number on the screen where that was said, those that it has left above it.

    The column that it is at is counted from 0.
    """

    def __init__(self) -> None:
        self.above: list[list[str]] = []
        self.row: list[str] = []
        self.column = 0
        self.kept = 0
        self.number = 0

    def write(self, text: str) -> None:
        if self.column > len(self.row):
            self.row.extend(" " * (self.column - len(self.row)))
        self.row[self.column : self.column + len(text)] = text
        self.column += len(text)

    def go(self, column: int) -> None:
        self.column = min(max(0, column), max(len(self.row), _WIDEST))

    def leave(self) -> None:
        """Go to another row, if there is anything in this one."""
        if "".join(self.row).strip():
            self.above.append(self.row)
            self.row, self.column = [], 0
        self.number = 0

    def escape(self, letter: str) -> None:
        """Carry out an escape sequence of two characters: the cursor kept and put back, another row, or nothing."""
        if letter == "7":
            self.kept = self.column
        elif letter == "8":
            self.column = self.kept
        elif letter in _ESCAPES_TO_ANOTHER_ROW:
            self.leave()

    def control(self, letter: str, numbers: str) -> None:
        """Carry out a control sequence: a movement, an erasure, or one that changes no text."""
        said = [int(number[:6]) if number.isdecimal() else 0 for number in numbers.split(";")]
        count = max(1, said[0])
        match letter:
            case "C" | "a":
                self.go(self.column + count)
            case "D":
                self.go(self.column - count)
            case "G" | "`":
                self.go(count - 1)
            case "H" | "f":
                self._place(max(1, said[0]), max(1, said[1]) - 1 if len(said) > 1 else 0)
            case "K":
                self._erase(said[0])
            case "J" if said[0] == 0:
                self._erase(0)
            case "P":
                del self.row[self.column : self.column + count]
            case "X":
                self._blank(self.column, self.column + count)
            case "@" if self.column < len(self.row) <= _WIDEST:
                self.row[self.column : self.column] = " " * min(count, _WIDEST)
            case "s":
                self.kept = self.column
            case "u":
                self.column = self.kept
            case _ if letter in _ANOTHER_ROW:
                self.leave()

    def _place(self, number: int, column: int) -> None:
        """Go to a column of a row: another one, unless it is known as this and nothing is written over."""
        if number != self.number or "".join(self.row[column:]).strip():
            self.leave()
        self.number = number
        self.go(column)

    def _erase(self, what: int) -> None:
        """Erase to the end of the row (0), up to the cursor (1), or all of the row (2)."""
        if what == 0:
            del self.row[self.column :]
        elif what == 1:
            self._blank(0, self.column + 1)
        else:
            self.row.clear()

    def _blank(self, start: int, end: int) -> None:
        end = min(end, len(self.row))
        if start < end:
            self.row[start:end] = " " * (end - start)
