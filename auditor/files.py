"""Files and folders for their owner alone, or as the umask has it; a file is there whole or not at all."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


def make_folder(path: Path, *, group: bool = False) -> None:
    """Make a folder, and those above it that are missing; one that is there keeps its mode.

    Args:
        path: the folder.
        group: its mode is left to the umask; else it is for its owner alone.

    Raises:
        OSError: it cannot be made.
    """
    if path.is_dir():
        return
    make_folder(path.parent, group=group)
    path.mkdir(mode=0o777 if group else 0o700, exist_ok=True)


def make_beside(folder: Path, name: str, *, group: bool = False) -> Path:
    """Make a folder within another under a name of its own: hidden, with eight signs behind the one that is given.

    Raises:
        OSError: it cannot be made.
    """
    while True:
        path = folder / f".{name}.{secrets.token_hex(4)}"
        try:
            path.mkdir(mode=0o777 if group else 0o700)
        except FileExistsError:
            continue
        return path


def write_new(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file that is not there yet, down to the disk.

    Raises:
        OSError: it cannot be written, or is there.
    """
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666 if group else 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def replace_file(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file in the place of an older one; its folder is made if need be.

    Whoever looks meanwhile sees the older one, or none, or the new one whole; what is written meanwhile has the same
    mode.

    Raises:
        OSError: it cannot be written.
    """
    make_folder(path.parent, group=group)
    while True:
        made = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        try:
            write_new(made, data, group=group)
        except FileExistsError:
            continue
        except BaseException:
            made.unlink(missing_ok=True)
            raise
        break
    try:
        made.replace(path)
    except BaseException:
        made.unlink(missing_ok=True)
        raise
