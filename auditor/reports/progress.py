"""How a round over devices goes, on stderr: a bar on a terminal, a plain line a device everywhere else."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

from rich.console import Console
from rich.progress import Progress
from rich.text import Text

from auditor.capture.interface import Captured
from auditor.capture.live import Result
from auditor.reports.sanitize import sanitize


def outcome_line(result: Result) -> str:
    """Return what became of a device in one line."""
    name = sanitize(result.key[1])
    if isinstance(result.captured, Captured):
        files = result.captured.files
        lines = sum(file.data.count(b"\n") for file in files)
        return f"{name}: captured, {lines} lines in {len(files)} files"
    return f"{name}: not captured: {sanitize(result.captured.reason)}"


class LineProgress:
    """Writes a line a device."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __call__(self, result: Result) -> None:
        """Tell of a device."""
        self._stream.write(f"{outcome_line(result)}\n")
        self._stream.flush()


@contextmanager
def bar(total: int) -> Iterator[Callable[[Result], None]]:
    """Show a bar, with a line for each device that fails."""
    console = Console(stderr=True, highlight=False)
    with Progress(console=console, transient=True) as shown:
        task = shown.add_task("reading devices", total=total)

        def advance(result: Result) -> None:
            if not isinstance(result.captured, Captured):
                shown.console.print(Text(outcome_line(result)))
            shown.advance(task)

        yield advance
