"""Of which day captures are, in words: what it is known by, and how old they are where that is more than allowed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from auditor.core.days import WORDS
from auditor.core.report import CapturedOn, Report

UNKNOWN = "an unknown day"


@dataclass(frozen=True, slots=True)
class CaptureDays:
    """The days of a report's captures.

    Attributes:
        of: by device, the day of its capture; empty where it has none.
        lines: a line for each such day, with the devices whose captures are of it.
    """

    of: dict[str, str]
    lines: list[str]


def capture_days(report: Report) -> CaptureDays:
    """Return of which day each capture is, in words."""
    of = {
        device.name: day_words(device.captured, report.audited_on, report.max_age) if device.captures else ""
        for device in report.devices
    }
    devices: dict[str, list[str]] = {}
    for name, words in of.items():
        if words:
            devices.setdefault(words, []).append(name)
    return CaptureDays(of, [f"captured on {words}: {', '.join(names)}" for words, names in devices.items()])


def day_words(captured: CapturedOn | None, today: date, max_age: int | None = None) -> str:
    """Return the day of a capture and what it is known by, and its age where it is older than ``max_age`` days."""
    if captured is None:
        return UNKNOWN
    age = (today - captured.on).days
    days = "1 day" if age == 1 else f"{age} days"
    old = f", {days} old" if max_age is not None and age > max_age else ""
    return f"{captured.on} ({WORDS[captured.by]}){old}"
