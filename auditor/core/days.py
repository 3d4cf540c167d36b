"""The day of a capture: what is known of it, by what, and how old a capture may be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

DaySource = Literal["record", "text", "stated", "file"]
"""What a day is known by, the best first: the record that was kept when the device was read (capture.json), a line of
the text by the device's clock, whoever asked for the audit, the time of the file."""
SOURCES: tuple[DaySource, ...] = ("record", "text", "stated", "file")


@dataclass(frozen=True, slots=True)
class Days:
    """What is known of the day on which one file of a capture was read, by each source. Days are those of its place.

    ``line`` is the number of the line that says ``text``.
    """

    record: date | None = None
    text: date | None = None
    stated: date | None = None
    file: date | None = None
    line: int = 0

    def known(self) -> dict[DaySource, date]:
        """Return the days that are known, by what tells them, the best first."""
        return {source: day for source in SOURCES if (day := getattr(self, source)) is not None}


WORDS: dict[DaySource, str] = {
    "record": "recorded when it was read",
    "text": "by the device's clock",
    "stated": "day as stated",
    "file": "day of the file",
}
"""By what a day is known, as people read it."""
