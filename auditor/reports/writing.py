"""Writing files so that half of one is never seen."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from auditor.errors import ReportError
from auditor.files import replace_file


def write_files(folder: Path, files: Mapping[str, bytes], *, group: bool = False) -> None:
    """Write files below a folder, each whole or not at all; one that cannot be written does not cost the others.

    They are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        ReportError: some of them cannot be written.
    """
    failed = []
    for name, data in files.items():
        try:
            write_atomically(folder / name, data, group=group)
        except ReportError as error:
            failed.append(str(error))
    if failed:
        raise ReportError(failed[0] if len(failed) == 1 else f"{failed[0]} (and {len(failed) - 1} more files)")


def write_atomically(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file whole or not at all, for its owner alone unless ``group``; its folder is made if need be.

    Raises:
        ReportError: it cannot be written.
    """
    try:
        replace_file(path, data, group=group)
    except (FileExistsError, NotADirectoryError) as error:
        raise ReportError(f"{path}: cannot be written: a file stands in the way of its folder") from error
    except OSError as error:
        raise ReportError(f"{path}: cannot be written: {error.strerror or error}") from error
