"""Saved text: ``DIR/<device>.cfg`` and the like, or a folder ``DIR/<device>/`` with a file a command."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import UTC, date, datetime
from pathlib import Path

from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.saving import RECORD, alone, left_by, record_in
from auditor.core.days import Days
from auditor.errors import UsageError
from auditor.reading.source import CaptureFile
from auditor.resources import file_name, read_bytes

ENDINGS = (".cfg", ".conf", ".txt", ".log", ".rsc")
MAX_BYTES = 64 * 1024 * 1024


class SavedCaptures:
    """Captures in a folder.

    Args:
        folder: where they are.
        captured_on: the day on which they were read, as the user states it.

    Raises:
        UsageError: there is no such folder.
    """

    def __init__(self, folder: str | Path, captured_on: date | None = None) -> None:
        self._folder = Path(folder)
        self._stated = captured_on
        try:
            found = self._folder.is_dir()
        except OSError as error:
            raise UsageError(f"{folder}: the folder of captures cannot be read: {error.strerror}") from error
        if not found:
            raise UsageError(f"{folder}: no such folder of captures")

    def unplanned(self, devices: Collection[str]) -> list[str]:
        """Return the captures in the folder that belong to none of some devices, by name."""
        try:
            return [
                file_name(path)
                for path in sorted(self._folder.iterdir())
                if _owner_of(path) not in {"", *devices} and not path.name.startswith(".")
            ]
        except OSError:
            return []  # why it cannot be read is told with each device

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return the files of a device: those named after it, and those in the folder named after it."""
        try:
            with alone(self._folder, reading=True):
                return self._read(device)
        except OSError as error:
            return NotCaptured(f"{self._folder} cannot be read: {error.strerror or error}")

    def _read(self, device: str) -> Captured | NotCaptured:
        found = [self._folder / f"{device}{ending}" for ending in ENDINGS]
        files = [path for path in found if path.is_file()]
        below = self._folder / device
        kept = below if below.is_dir() else left_by(self._folder, device)
        if kept:
            files += sorted(
                p for p in kept.iterdir() if p.is_file() and not p.name.startswith(".") and p.suffix != ".json"
            )
        if not files:
            return NotCaptured(f"no saved configuration of {device}: {self._what_to_do(device)}")
        names = [f"{device}/{file_name(path)}" if path.parent == kept else file_name(path) for path in files]
        try:
            return _captured(files, names, kept or below, self._stated)
        except UsageError as error:
            return NotCaptured(str(error))

    def _what_to_do(self, device: str) -> str:
        """Return what to do where no file is a device's: a file that almost is one is named."""
        almost = sorted(path.name for path in self._folder.iterdir() if _almost(path.name, device))
        if almost:
            endings = ", ".join(f"{device}{ending}" for ending in ENDINGS)
            return f"is {self._folder / almost[0]} meant? It would have to be called {endings}, or be a folder {device}"
        where = self._folder / device
        return (
            f"save the output of its configuration command as {where}.cfg, or all that 'auditor platforms' lists for "
            f"it as files in {where}"
        )


def _owner_of(path: Path) -> str:
    """Return whose capture a file or a folder can be, by its name; empty where it looks like no capture."""
    if path.is_dir():
        return path.name if any(p.suffix in ("", *ENDINGS) for p in path.iterdir() if p.is_file()) else ""
    return path.stem if path.suffix in ENDINGS else ""


def _almost(name: str, device: str) -> bool:
    """Return whether a file is called like a device but for capitals or its ending."""
    return device.casefold() in (name.casefold(), name.casefold().partition(".")[0], name.casefold().rpartition(".")[0])


def read_files(paths: Iterable[Path]) -> Captured:
    """Read files of one device's capture, one at least, each called by its name alone.

    A record of them is looked for beside the first.

    Raises:
        UsageError: one cannot be read.
    """
    files = list(paths)
    return _captured(files, [file_name(path) for path in files], files[0].parent, waiting=True)


def _captured(
    paths: list[Path], names: list[str], recorded: Path, stated: date | None = None, *, waiting: bool = False
) -> Captured:
    """Read files and what is known of their days.

    ``recorded`` is the folder in which there may be a record of them; ``waiting`` says that they may be pipes.

    Raises:
        UsageError: one cannot be read.
    """
    files = [_read(path, name, waiting=waiting) for path, name in zip(paths, names, strict=True)]
    record = record_in(recorded)
    days = tuple(
        Days(record=record.days.get((path.name, file.sha256)), stated=stated, file=_day_of(path))
        for path, file in zip(paths, files, strict=True)
    )
    listed = {name for name, _ in record.days}
    changed = tuple(
        f"{file.name} was changed after it was captured, so {RECORD} does not tell its day"
        for path, file, day in zip(paths, files, days, strict=True)
        if path.name in listed and day.record is None
    )
    return Captured(files, (*record.notes, *changed), days, record.about)


def _day_of(path: Path) -> date | None:
    """Return the day of a file as people here call it; ``None`` where it has none that a calendar knows."""
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone().date()
    except (OSError, OverflowError, ValueError):
        return None


def _read(path: Path, name: str, *, waiting: bool) -> CaptureFile:
    try:
        return CaptureFile(name, read_bytes(path, MAX_BYTES, waiting=waiting))
    except IsADirectoryError as error:
        raise UsageError(f"{path} is a folder: name the files in it, {path / '*'}") from error
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror or error}") from error
