"""The day on which a device was read, by its own clock: from lines that it prints at that moment."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from auditor.reading.source import Disposition, Lines

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_UNCONFIGURED = (Disposition.COMMENT, Disposition.NOISE)
"""What such lines are to those who cut a text: in a banner or a description they would say nothing."""


class ReadOn(NamedTuple):
    """A day that a text says it was read on, and the number of the line that says so."""

    day: date
    number: int


def read_on(lines: Lines, patterns: Sequence[re.Pattern[str]]) -> ReadOn | None:
    """Return the oldest day that a text says it was read on; ``None`` where it says none."""
    return min(_days(lines, patterns), default=None) if patterns else None


def _days(lines: Lines, patterns: Sequence[re.Pattern[str]]) -> Iterator[ReadOn]:
    for kind in _UNCONFIGURED:
        for number in lines.numbered(kind):
            for pattern in patterns:
                match = pattern.fullmatch(lines.texts[number - 1])
                if match and (day := _day(match)):
                    yield ReadOn(day, number)


def _day(match: re.Match[str]) -> date | None:
    """Return the day that a line says; ``None`` where no calendar has it."""
    month = match["month"].lower()
    try:
        return date(
            int(match["year"]), int(month) if month.isdecimal() else _MONTHS.index(month) + 1, int(match["day"])
        )
    except ValueError:
        return None
