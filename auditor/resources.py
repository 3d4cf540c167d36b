"""Files: where the data shipped with the package lies, in a wheel or in a checkout; what users name, read in bounds."""

from __future__ import annotations

import errno
import os
import stat
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from auditor.errors import PlatformError


def file_name(path: str | Path) -> str:
    """Return a file's name as text that can be written anywhere: octets that are no UTF-8 by their numbers."""
    return os.fsencode(Path(path).name).decode(errors="backslashreplace")


def read_bytes(path: Path, most: int, *, waiting: bool = False) -> bytes:
    """Read a file that a user has named, in bounds.

    A pipe or a device may have no end, or nobody at the other end: it is read only where ``waiting`` says so.

    Raises:
        OSError: it cannot be read, is no regular file, or has more octets than ``most``.
    """
    at_once = 0 if waiting else getattr(os, "O_NONBLOCK", 0)
    with open(path, "rb", opener=lambda name, flags: os.open(name, flags | at_once)) as file:
        if not waiting and not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is no regular file")
        data = file.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most // 2**20} MiB")
    return data


def _shipped(packaged: str, *checkout: str) -> Traversable:
    """Return a folder of data: in a wheel below the package, in a checkout where it is kept.

    Raises:
        PlatformError: the package was installed without its data.
    """
    folder = files("auditor").joinpath(packaged)
    if folder.is_dir():
        return folder
    top = Path(__file__).resolve().parent.parent
    kept = top.joinpath(*checkout)
    if (top / "pyproject.toml").is_file() and kept.is_dir():
        return kept
    raise PlatformError("the data files are missing: this installation is not complete, install it again")


@cache
def templates_root() -> Traversable:
    """Return the folder that holds ``platforms/`` and ``reports/``."""
    return _shipped("templates", "templates")


@cache
def demo_root() -> Traversable:
    """Return the folder of the demo site: ``plan.yaml`` and its captures."""
    return _shipped("demo_network", "fixtures", "networks", "quarry-road")


def read_text(*parts: str) -> str:
    """Return the text of one data file, named by its path below the templates folder."""
    return templates_root().joinpath(*parts).read_text(encoding="utf-8")
