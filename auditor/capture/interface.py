"""What a source of captures is: it gives a device's files, or says why it has none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from auditor.reading.source import Source as File


@dataclass(frozen=True, slots=True)
class Captured:
    """A device's capture: its files as they were saved or read, and what is remarkable about how it was read."""

    files: list[File]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotCaptured:
    """There is no capture of a device, and why."""

    reason: str


@dataclass(frozen=True, slots=True)
class NotReadable:
    """There is a capture of a device that nothing can be made of, and why."""

    reason: str


class Source(Protocol):
    """Where captures come from."""

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture."""
