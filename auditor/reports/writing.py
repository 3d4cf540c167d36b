"""Writing files so that nobody ever meets half of one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from auditor.errors import ReportError


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
    except OSError as error:
        raise ReportError(f"{path}: cannot be written: {error.strerror or error}") from error
