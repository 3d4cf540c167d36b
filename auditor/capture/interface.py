"""What a source of captures is: it gives a device's files, or says why it has none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from auditor.core.days import Days
from auditor.platforms import catalogue
from auditor.reading.days import ReadOn
from auditor.reading.source import CaptureFile


@dataclass(frozen=True, slots=True)
class RecordOf:
    """Whose capture a record (capture.json) says that it is about: as it was planned, and the host that was read."""

    device: str
    address: str
    platform: str
    host: str = ""

    def another(self, device: str, address: str, platform: str) -> str:
        """Return why it is not the record of a device of the plan, whose address may be empty; empty where it is."""
        if self.device != device:
            return f"it is of {_shown(self.device)}, not of {device}"
        if catalogue.folder_of(self.platform) != catalogue.folder_of(platform):
            return f"it is of the platform {_shown(self.platform)}, and the plan has {platform}"
        if address and self.address != address:
            return f"it is of the device at {_shown(self.address)}, and the plan has {address}"
        return ""


def _shown(text: str) -> str:
    return text[:_LONGEST] or "no device"


_LONGEST = 80
"""Most characters that are shown of what a record says."""


@dataclass(frozen=True, slots=True)
class Captured:
    """A device's capture.

    Attributes:
        files: as they were saved or read.
        notes: what is remarkable about how it was read.
        days: for each file, what is known of the day on which it was read, but for what its text says; empty where
            nothing is known.
        record: what a record that notes and days come from is about; ``None`` where none does, or it was looked at.
    """

    files: list[CaptureFile]
    notes: tuple[str, ...] = ()
    days: tuple[Days, ...] = ()
    record: RecordOf | None = field(default=None, compare=False)

    def of(self, device: str, address: str, platform: str) -> Captured:
        """Return the capture as that of a device of the plan: a record of another one does not count."""
        if self.record is None:
            return self
        if why := self.record.another(device, address, platform):
            told = f"capture.json is not the record of {device} ({why}), and does not count: read {device} again"
            return replace(self, notes=(told,), days=tuple(replace(day, record=None) for day in self.days), record=None)
        notes = dict.fromkeys((*self.notes, *elsewhere(self.record.host, address)))
        return replace(self, notes=tuple(notes), record=None)

    def known_days(self, said: Sequence[ReadOn | None]) -> list[tuple[str, Days]]:
        """Return the files' names and all that is known of the day of each; ``said`` is what their texts say of it."""
        known = self.days or (Days(),) * len(self.files)
        return [
            (file.name, replace(days, text=text.day, line=text.number) if text else days)
            for file, days, text in zip(self.files, known, said, strict=True)
        ]


def elsewhere(host: str, address: str) -> tuple[str, ...]:
    """Return what is noted of a device that was read elsewhere than at its planned address."""
    if address and host and host.casefold() != address.casefold():
        return (f"it was read at {_shown(host)}, and the plan has {address}",)
    return ()


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
