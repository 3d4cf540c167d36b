"""The log of a run: a file that ``AUDITOR_LOG`` names, and tracebacks on standard error with ``--debug``."""

from __future__ import annotations

import contextlib
import logging
import os
import platform
import time
from collections.abc import Iterator
from pathlib import Path

import click

import auditor
from auditor.errors import UsageError
from auditor.files import append
from auditor.unforeseen import LOG

VARIABLE = "AUDITOR_LOG"


class Run:
    """A run as its log knows it: what it ended with, as far as it has."""

    ended: object = "not completed"


class _Kept(logging.Handler):
    """Appends to the log. Where that fails the run goes on, and its end tells of it."""

    def __init__(self, file: Path) -> None:
        super().__init__(logging.INFO)
        self.file = file
        self.unforeseen = False
        self.failure = ""
        self.setFormatter(logging.Formatter("%(asctime)s [%(process)d] %(message)s"))

    def emit(self, record: logging.LogRecord) -> None:
        self.unforeseen = self.unforeseen or record.levelno >= logging.ERROR
        try:
            append(self.file, f"{_printable(self.format(record))}\n".encode())
        except OSError as error:
            self.failure = error.strerror or type(error).__name__


class _Shown(logging.Handler):
    """Shows tracebacks on standard error, wherever that leads at the moment."""

    def emit(self, record: logging.LogRecord) -> None:
        if record.levelno != logging.INFO:
            click.echo(_printable(record.getMessage()), err=True)


def _printable(text: str) -> str:
    return "\n".join("".join(sign if sign.isprintable() else "?" for sign in line) for line in text.split("\n"))


@contextlib.contextmanager
def logged(command: str, *, debug: bool) -> Iterator[Run]:
    """Log a run until the end of the block, if the environment names a file for it or tracebacks are asked for.

    Raises:
        UsageError: the file cannot be written; nothing was done.
    """
    named, run = os.environ.get(VARIABLE), Run()
    kept = _Kept(Path(named)) if named else None
    handlers = [handler for handler in (kept, _Shown() if debug else None) if handler]
    level, began = LOG.level, time.monotonic()
    if handlers:
        LOG.setLevel(logging.DEBUG)
    for handler in handlers:
        LOG.addHandler(handler)
    try:
        LOG.info("auditor %s %s began (Python %s)", auditor.__version__, command, platform.python_version())
        if kept and kept.failure:
            raise UsageError(f"{VARIABLE}: {named} cannot be written: {kept.failure}")
        try:
            yield run
        finally:
            LOG.info("auditor %s ended after %.1f s: %s", command, time.monotonic() - began, run.ended)
    finally:
        LOG.setLevel(level)
        for handler in handlers:
            LOG.removeHandler(handler)
        if kept and kept.failure:
            click.echo(f"auditor: the log {named} is not complete: {kept.failure}", err=True)
        elif kept and kept.unforeseen:
            click.echo(f"auditor: the log is {named}", err=True)
