"""Of which day a device's capture is, and whether that is recent enough, and sure enough, for the occasion."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from auditor.core.days import SOURCES, WORDS, Days, DaySource
from auditor.core.report import CapturedOn, Incomplete, Occasion

_EARLIEST = date(2000, 1, 1)
"""Clocks that nobody has set count from a day before this one."""
_SLIP = timedelta(days=1)
"""A day is that of the place where it was written down: past midnight there, it may be tomorrow's here."""


@dataclass(frozen=True, slots=True)
class Dated:
    """The day of a device's capture.

    Attributes:
        captured: the oldest day of its files, and what that is known by; ``None`` where nothing is known of any.
        by: each file, and what its day is known by.
        notes: days that cannot be: clocks that are not set.
    """

    captured: CapturedOn | None = None
    by: list[tuple[str, DaySource | None]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def dated(files: Iterable[tuple[str, Days]], today: date) -> Dated:
    """Return the day of a capture: of each file by the best source that says a day that can be.

    Args:
        files: their names, and what is known of the day of each.
        today: the day of the audit.
    """
    by: list[tuple[str, DaySource | None]] = []
    found: list[tuple[date, int]] = []
    notes: list[str] = []
    for name, days in files:
        source, wrong = _best(name, days, today)
        by.append((name, source))
        notes += wrong
        if source:
            found.append((getattr(days, source), -SOURCES.index(source)))  # of two alike, the less sure one
    if not found:
        return Dated(None, by, notes)
    oldest, rank = min(found)
    return Dated(CapturedOn(on=oldest, by=SOURCES[-rank]), by, list(dict.fromkeys(notes)))


def _best(name: str, days: Days, today: date) -> tuple[DaySource | None, list[str]]:
    """Return the best source whose day can be, and what is wrong with those before it."""
    wrong: list[str] = []
    for source, day in days.known().items():
        if _EARLIEST <= day <= today + _SLIP:
            return source, wrong
        wrong.append(_impossible(name, days, source, day))
    return None, wrong


def _impossible(name: str, days: Days, source: DaySource, day: date) -> str:
    """Say that a day cannot be that of the capture."""
    when = f"{day}, before 2000" if day < _EARLIEST else f"{day}, after the day of this audit"
    match source:
        case "record":
            return f"capture.json has {name} captured on {when}: set the clock of the computer that read it"
        case "text":
            return f"device clock not set: {name}:{days.line} says {when}; set it, or give the device a time server"
        case "stated":
            return f"the day stated with --captured-on is {when}: it is not used"
        case "file":
            return f"the time of the file {name} is of {when}: it is not used"


def too_old_or_unsure(found: Dated, today: date, occasion: Occasion, max_age: int | None) -> Iterator[Incomplete]:
    """Yield why an audit of this capture is incomplete for its day.

    Args:
        found: the day of the capture.
        today: the day of the audit.
        occasion: why it is audited; an acceptance needs a day that more than the time of a file tells.
        max_age: how many days old it may be; ``None`` for any number.
    """
    unknown = [name for name, by in found.by if by is None]
    if unknown and (max_age is not None or occasion == "acceptance"):
        told = f"nothing tells the day of {_which(unknown, found)}"
        yield Incomplete(cause="undated", why=f"{told}: capture it again, or state the day with --captured-on")
    unsure = [name for name, by in found.by if by == "file"]
    if unsure and occasion == "acceptance":
        told = (
            f"only the time of the file tells the day of {_which(unsure, found)}, and an acceptance needs a surer one"
        )
        yield Incomplete(cause="undated", why=f"{told}: read it with 'auditor capture', or state it with --captured-on")
    if found.captured and max_age is not None and (age := (today - found.captured.on).days) > max_age:
        told = f"its capture is {_days(age)} old (of {found.captured.on}, {WORDS[found.captured.by]})"
        yield Incomplete(
            cause="too-old",
            why=f"{told}, and the limit is {_days(max_age)}: capture it again, or set another limit with --max-age",
        )


def _which(names: Iterable[str], found: Dated) -> str:
    """Name files, or all of a capture together."""
    listed = list(names)
    return "its capture" if len(listed) == len(found.by) else ", ".join(listed)


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
