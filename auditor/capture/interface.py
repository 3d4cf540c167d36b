"""What a source of captures is: it gives a device's files, or says why it has none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from auditor.core.days import Days
from auditor.reading.days import ReadOn
from auditor.reading.source import CaptureFile


@dataclass(frozen=True, slots=True)
class Captured:
    """A device's capture.

    Attributes:
        files: as they were saved or read.
        notes: what is remarkable about how it was read.
        days: for each file, what is known of the day on which it was read, but for what its text says; empty where
            nothing is known.
    """

    files: list[CaptureFile]
    notes: tuple[str, ...] = ()
    days: tuple[Days, ...] = ()

    def known_days(self, said: Sequence[ReadOn | None]) -> list[tuple[str, Days]]:
        """Return the files' names and all that is known of the day of each; ``said`` is what their texts say of it."""
        known = self.days or (Days(),) * len(self.files)
        return [
            (file.name, replace(days, text=text.day, line=text.number) if text else days)
            for file, days, text in zip(self.files, known, said, strict=True)
        ]


@dataclass(frozen=True, slots=True)
class NotCaptured:
    """There is no capture of a device, and why."""

    reason: str


@dataclass(frozen=True, slots=True)
class NotReadable:
    """There is a capture of a device that nothing can be made of, and why."""

    reason: str


class CaptureSource(Protocol):
    """Where captures come from."""

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture."""
