"""Writing files so that nobody ever meets half of one."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from auditor.errors import ReportError


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files below a folder, each whole or not at all; one that cannot be written does not cost the others.

    Raises:
        ReportError: some of them cannot be written.
    """
    failed = []
    for name, data in files.items():
        try:
            write_atomically(folder / name, data)
        except ReportError as error:
            failed.append(str(error))
    if failed:
        raise ReportError(failed[0] if len(failed) == 1 else f"{failed[0]} (and {len(failed) - 1} more files)")


def write_atomically(path: Path, data: bytes) -> None:
    """Write a file whole or not at all; its folder is made if need be.

    Raises:
        ReportError: it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            umask = os.umask(0)
            os.umask(umask)
            os.chmod(name, 0o666 & ~umask)  # noqa: PTH101 - by name, as mkstemp gave it
            os.replace(name, path)  # noqa: PTH105
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except (FileExistsError, NotADirectoryError) as error:
        raise ReportError(f"{path}: cannot be written: a file stands in the way of its folder") from error
    except OSError as error:
        raise ReportError(f"{path}: cannot be written: {error.strerror or error}") from error
