"""Saved text: ``DIR/<device>.cfg`` and the like, or a folder ``DIR/<device>/`` with a file a command."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.saving import alone, left_by, notes_in
from auditor.errors import UsageError
from auditor.reading.source import Source as File
from auditor.resources import file_name, read_bytes

ENDINGS = (".cfg", ".conf", ".txt", ".log", ".rsc")
MAX_BYTES = 64 * 1024 * 1024


class SavedCaptures:
    """Captures in a folder.

    Raises:
        UsageError: there is no such folder.
    """

    def __init__(self, folder: str | Path) -> None:
        self._folder = Path(folder)
        try:
            found = self._folder.is_dir()
        except OSError as error:
            raise UsageError(f"{folder}: the folder of captures cannot be read: {error.strerror}") from error
        if not found:
            raise UsageError(f"{folder}: no such folder of captures")

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
            kinds = ", ".join(ENDINGS)
            return NotCaptured(f"{self._folder} holds no {device}{{{kinds}}} and no folder {device}")
        try:
            names = [f"{device}/{file_name(path)}" if path.parent == kept else file_name(path) for path in files]
            read = [_read(path, name) for path, name in zip(files, names, strict=True)]
            return Captured(read, notes_in(kept or below))
        except UsageError as error:
            return NotCaptured(str(error))


def read_files(paths: Iterable[Path]) -> list[File]:
    """Read files of one device's capture, each called by its name alone.

    Raises:
        UsageError: one cannot be read.
    """
    return [_read(path, file_name(path)) for path in paths]


def _read(path: Path, name: str) -> File:
    try:
        return File(name, read_bytes(path, MAX_BYTES))
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror or error}") from error
