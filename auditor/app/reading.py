"""One capture read, and what can be read at all: what ``auditor read`` and ``platforms`` do, a call each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from auditor.app.arguments import paths_of
from auditor.areas import Reading, read
from auditor.areas.abilities import Abilities, abilities_of
from auditor.capture.files import read_files
from auditor.compare.age import Dated, dated
from auditor.platforms import catalogue


@dataclass(frozen=True, slots=True)
class CaptureRead:
    """What was understood of a capture, and of which day it is."""

    reading: Reading
    day: Dated


def read_capture(platform: str, files: Sequence[str | Path], *, today: date | None = None) -> CaptureRead:
    """Read one device's capture: what ``auditor read`` shows.

    Args:
        platform: the device's dialect, by its netmiko device type.
        files: its files, one at least.
        today: the day where it is read; the calendar's if unsaid.

    Raises:
        PlatformError: there is no such platform, or its data are broken.
        UsageError: there are no files, or one cannot be read.
    """
    captured = read_files(paths_of("files", files))
    reading = read(platform, captured.files)
    day = dated(captured.known_days(reading.days), today or date.today())  # noqa: DTZ011 - the day where it is read
    return CaptureRead(reading, day)


def readable_platforms() -> list[Abilities]:
    """Return what can be read of each platform, and what it cannot show: what ``auditor platforms`` shows.

    Raises:
        PlatformError: a platform's data are broken.
    """
    return [abilities_of(name) for name in catalogue.names()]
