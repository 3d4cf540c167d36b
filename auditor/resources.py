"""Files: where the data shipped with the package lies, in a wheel or in a checkout; what users name, read in bounds."""

from __future__ import annotations

import errno
import os
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from auditor.errors import PlatformError


def file_name(path: str | Path) -> str:
    """Return a file's name as text that can be written anywhere: octets that are no UTF-8 by their numbers."""
    return os.fsencode(Path(path).name).decode(errors="backslashreplace")


def read_bytes(path: Path, most: int) -> bytes:
    """Read a file that a user has named; one without end, such as a device of the system, is not read to its end.

    Raises:
        OSError: it cannot be read, or it has more octets than ``most``.
    """
    with path.open("rb") as file:
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
