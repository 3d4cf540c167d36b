"""Captures on disk: a folder a device, all of it there or nothing. Their secrets are taken out before (``masking``)."""

from __future__ import annotations

import contextlib
import glob
import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

import auditor
from auditor.capture.interface import RecordOf
from auditor.errors import UsageError
from auditor.files import hold, make_beside, make_folder, move, write_new
from auditor.reading.source import CaptureFile
from auditor.resources import read_bytes

FORMAT = "auditor-capture/1"
RECORD = "capture.json"
_LARGEST = 4 * 1024 * 1024
"""Most bytes of a record."""
_MADE = re.compile(r"[a-z0-9_]{8}(?:\.old)?")
"""What is behind the device's name in that of a folder that is being made, or was replaced."""


@dataclass(frozen=True, slots=True)
class Reached:
    """Where a device was read: a host and its port, and the jump hosts on the way, the nearest first."""

    host: str
    port: int
    jump_hosts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CaptureRecord:
    """How a capture was made: the contents of ``capture.json`` beside its files.

    Attributes:
        address: as it was planned.
        commands: those that the files answer, in the same order; empty where none is known.
        reached: where it was read, over which jump hosts; ``None`` where that is unknown.
    """

    device: str
    address: str
    platform: str
    commands: tuple[str, ...]
    began: datetime
    ended: datetime
    notes: tuple[str, ...] = ()
    reached: Reached | None = None


def save(folder: Path, record: CaptureRecord, files: list[CaptureFile], *, group: bool = False) -> None:
    """Write a device's capture below a folder, in the place of an older one.

    The files are readable by their owner alone, unless ``group`` leaves that to the umask. Whoever looks
    meanwhile sees the older capture or the new one.

    Raises:
        UsageError: it cannot be written.
    """
    try:
        make_folder(folder, group=group)
        with alone(folder):
            _sweep(folder, record.device)
            made = make_beside(folder, record.device, group=group)
            let_go = hold(made)
        try:
            for file in files:
                write_new(made / file.name.rpartition("/")[2], file.data, group=group)
            write_new(made / RECORD, as_json(record, files), group=group)
            with alone(folder):
                _put(made, folder / record.device)
        except BaseException:
            shutil.rmtree(made, ignore_errors=True)
            raise
        finally:
            let_go()
    except OSError as error:
        raise UsageError(f"{folder}: the capture of {record.device} cannot be written: {error.strerror}") from error


@contextlib.contextmanager
def alone(folder: Path, *, reading: bool = False) -> Iterator[None]:
    """Keep others from putting captures into a folder until the end of the block; where one reads, others may, too.

    Raises:
        OSError: there is no such folder.
    """
    let_go = hold(folder, shared=reading)
    try:
        yield
    finally:
        let_go()


def left_by(folder: Path, device: str) -> Path | None:
    """Return the capture that a process had taken away when it was ended before another was in its place."""
    return next((path for path in _leftovers(folder, device) if path.suffix == ".old"), None)


def _leftovers(folder: Path, device: str) -> list[Path]:
    """Return the folders of a device that are being made or were replaced."""
    begin = f".{device}."
    found = folder.glob(f"{glob.escape(begin)}*")
    return [path for path in found if _MADE.fullmatch(path.name.removeprefix(begin)) and path.is_dir()]


def _sweep(folder: Path, device: str) -> None:
    """Put back what was taken away and not replaced, and take away what processes have left that are no more.

    Raises:
        OSError: it cannot be done.
    """
    older = left_by(folder, device)
    if older and not (folder / device).exists():
        move(older, folder / device)
    for path in _leftovers(folder, device):
        with contextlib.suppress(BlockingIOError, FileNotFoundError):
            let_go = hold(path, wait=False)
            shutil.rmtree(path, ignore_errors=True)
            let_go()


def _put(made: Path, place: Path) -> None:
    """Put a folder in the place of another.

    Raises:
        OSError: it cannot be done; the other is where it was.
    """
    old = made.with_name(f"{made.name}.old")
    with contextlib.suppress(FileNotFoundError):
        move(place, old)
    try:
        move(made, place)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            move(old, place)
        raise
    shutil.rmtree(old, ignore_errors=True)


def as_json(record: CaptureRecord, files: list[CaptureFile]) -> bytes:
    """Return the contents of ``capture.json``."""
    told = {
        "format": FORMAT,
        "device": record.device,
        "address": record.address,
        "reached": asdict(record.reached) if record.reached else None,
        "platform": record.platform,
        "began": record.began.isoformat(timespec="seconds"),
        "ended": record.ended.isoformat(timespec="seconds"),
        "notes": list(record.notes),
        "files": [
            {"file": file.name.rpartition("/")[2], "command": command, "sha256": file.sha256}
            for file, command in zip(files, record.commands, strict=True)
        ],
        "tool": f"auditor {auditor.__version__}",
    }
    return (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode()


@dataclass(frozen=True, slots=True)
class Kept:
    """What the record beside a saved capture tells.

    Attributes:
        about: whose record it is; ``None`` where there is none that tells anything.
        notes: what was remarkable about how the capture was read.
        days: the day on which it was read, by its files' names and SHA-256 sums; it is that of the place where the
            record was made. Of a text that was changed since the record tells nothing.
    """

    about: RecordOf | None = None
    notes: tuple[str, ...] = ()
    days: dict[tuple[str, str], date] = field(default_factory=dict)


def record_in(folder: Path) -> Kept:
    """Return what a record beside a saved capture tells; nothing where nothing or something else is there."""
    try:
        told = json.loads(read_bytes(folder / RECORD, _LARGEST).decode())
        if told["format"] != FORMAT:
            return Kept()
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return Kept()
    notes, days = _notes(told), _days(told)
    device, address, platform = (str(told.get(key, "")) for key in ("device", "address", "platform"))
    about = RecordOf(device, address, platform, _host(told))
    return Kept(about, notes, days) if notes or days else Kept()


def _notes(told: dict[str, Any]) -> tuple[str, ...]:
    notes = told.get("notes")
    return tuple(map(str, notes)) if isinstance(notes, list) else ()


def _days(told: dict[str, Any]) -> dict[tuple[str, str], date]:
    try:
        day = datetime.fromisoformat(told.get("ended") or told["began"]).date()
        return {(str(file["file"]), str(file["sha256"])): day for file in told["files"]}
    except (ValueError, KeyError, TypeError):
        return {}


def _host(told: dict[str, Any]) -> str:
    reached = told.get("reached")
    return str(reached.get("host", "")) if isinstance(reached, dict) else ""
