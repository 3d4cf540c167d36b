"""Standard output and error as commands use them: nothing that happens to them ends a run, or changes what it found.

A reader that has gone away (``auditor audit … | head -1``) is no failure, nor is a terminal that lacks a letter. What
cannot be written for any other reason, as to a full disk, is told at the end of the run.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from collections.abc import Iterator
from typing import TextIO, cast

_GONE = (errno.EPIPE, errno.ESHUTDOWN, errno.ECONNRESET)
"""Nobody reads any more."""


class Outlet(io.TextIOBase):
    """A standard stream that never raises; what the stream's encoding lacks is written by its number.

    Attributes:
        failure: why results were lost, other than that they were not read; empty where they were not.
    """

    def __init__(self, stream: TextIO | None) -> None:
        self._stream = stream
        self.failure = ""

    @property
    def encoding(self) -> str:  # type: ignore[override]  # it never changes
        """The encoding of the stream."""
        return getattr(self._stream, "encoding", None) or "utf-8"

    @property
    def errors(self) -> str:  # type: ignore[override]  # as above
        """What becomes of a letter that the encoding lacks."""
        return "backslashreplace"

    def writable(self) -> bool:
        """Return that it can be written."""
        return True

    def isatty(self) -> bool:
        """Return whether a person looks at it."""
        with contextlib.suppress(ValueError):  # it is closed
            return self._stream is not None and self._stream.isatty()
        return False

    def fileno(self) -> int:
        """Return the stream's descriptor.

        Raises:
            OSError: it has none.
        """
        if self._stream is None:
            raise io.UnsupportedOperation("fileno")
        return self._stream.fileno()

    def write(self, text: str) -> int:
        """Write text, or drop it where that is not possible any more."""
        shown = text.encode(self.encoding, "backslashreplace").decode(self.encoding)
        self._do("write", shown)
        return len(text)

    def flush(self) -> None:
        """Hand on what was written."""
        self._do("flush")

    def _do(self, what: str, *text: str) -> None:
        if self._stream is None:
            return
        try:
            getattr(self._stream, what)(*text)
        except (OSError, ValueError) as error:  # ValueError: it is closed
            if isinstance(error, OSError) and error.errno not in _GONE:
                self.failure = error.strerror or type(error).__name__
            self._let_go()

    def _let_go(self) -> None:
        """Use the stream no more; what it still holds would fail again when the process ends, so that leads nowhere."""
        stream, self._stream = self._stream, None
        with contextlib.suppress(OSError, ValueError):
            assert stream is not None
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, stream.fileno())
            os.close(nowhere)


@contextlib.contextmanager
def outlets() -> Iterator[tuple[Outlet, Outlet]]:
    """Put outlets in the places of standard output and error, until the end of the block."""
    out, err = Outlet(sys.stdout), Outlet(sys.stderr)
    with contextlib.redirect_stdout(cast("TextIO", out)), contextlib.redirect_stderr(cast("TextIO", err)):
        try:
            yield out, err
        finally:
            out.flush()
            err.flush()
