"""Writing files so that nobody ever meets half of one."""

from __future__ import annotations

from pathlib import Path

from auditor.errors import ReportError
from auditor.files import replace_file


def write_atomically(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file whole or not at all, for its owner alone unless ``group``; its folder is made if need be.

    Raises:
        ReportError: it cannot be written.
    """
    try:
        replace_file(path, data, group=group)
    except OSError as error:
        raise ReportError(f"{path}: cannot be written: {error.strerror or error}") from error
