"""Captures on disk: a folder a device, secrets taken out first, all of it there or nothing."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import auditor
from auditor.errors import UsageError
from auditor.passphrases import from_type7, seal
from auditor.reading import read
from auditor.reading.source import Source as File
from auditor.reading.source import behind_pager, shown_lines
from auditor.redact import redact

FORMAT = "auditor-capture/1"
RECORD = "capture.json"
_TRIES = 20


@dataclass(frozen=True, slots=True)
class Record:
    """How a capture was made: the contents of ``capture.json`` beside its files."""

    device: str
    address: str
    platform: str
    commands: tuple[str, ...]
    began: datetime
    ended: datetime
    notes: tuple[str, ...] = ()


def file_name(command: str) -> str:
    """Return the file that the answer to a command is kept in."""
    return re.sub(r"[^A-Za-z0-9-]+", "_", command).strip("_") + ".txt"


def without_secrets(platform: str, files: list[File]) -> list[File]:
    """Return a capture with every secret taken out, a Wi-Fi passphrase that can be read put under seal.

    What is read of it is the same, and a passphrase can still be compared.
    """
    seals: dict[str, str] = {}
    for ssid, stored in read(platform, files).passphrases.items():
        for one in stored:
            plain = from_type7(one.text) if one.form == "type7" else one.text if one.form == "plain" else None
            if plain and one.text not in seals:
                seals[one.text] = seal(plain, ssid)
    found = []
    for file in files:
        shown = [line.rstrip() for line in shown_lines(file.data)]
        starts = [behind_pager(line) for line in shown]
        lines = redact(platform, [line[start:] for line, start in zip(shown, starts, strict=True)], seals)
        kept = (f"{full[:start]}{line}\n" for full, start, line in zip(shown, starts, lines, strict=True))
        found.append(File(file.name, "".join(kept).encode()))
    return found


def save(folder: Path, record: Record, files: list[File]) -> None:
    """Write a device's capture below a folder, in the place of an older one.

    The files are readable by their owner alone. Whoever looks meanwhile sees the older capture or the new one.

    Raises:
        UsageError: it cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        made = Path(tempfile.mkdtemp(prefix=f".{record.device}.", dir=folder))
        try:
            for file in files:
                _write(made / file.name.rpartition("/")[2], file.data)
            _write(made / RECORD, _as_json(record, files))
            _put(made, folder / record.device)
        except BaseException:
            shutil.rmtree(made, ignore_errors=True)
            raise
    except OSError as error:
        raise UsageError(f"{folder}: the capture of {record.device} cannot be written: {error.strerror}") from error


def _put(made: Path, place: Path) -> None:
    """Put a folder in the place of another, also where somebody else does so at the same time: the last one stays.

    Raises:
        OSError: it cannot be done.
    """
    old = made.with_name(f"{made.name}.old")
    for left in reversed(range(_TRIES)):
        try:
            with contextlib.suppress(FileNotFoundError):
                place.rename(old)
            made.rename(place)
        except OSError:
            if not left:
                raise
        else:
            break
        finally:
            shutil.rmtree(old, ignore_errors=True)


def _write(path: Path, data: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _as_json(record: Record, files: list[File]) -> bytes:
    told = {
        "format": FORMAT,
        "device": record.device,
        "address": record.address,
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


def notes_in(folder: Path) -> tuple[str, ...]:
    """Return the notes that were kept beside a saved capture; none where nothing or something else is there."""
    try:
        told = json.loads((folder / RECORD).read_text(encoding="utf-8"))
        return tuple(str(note) for note in told["notes"]) if told.get("format") == FORMAT else ()
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ()
