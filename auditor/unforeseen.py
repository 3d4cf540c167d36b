"""Unforeseen errors: an exception that is no error of ours becomes a sentence, at the few places that may catch one.

An exception's own words may quote a device's text or a secret, so only its type and its place in the code are told. Its
traceback goes to the logger ``auditor`` of the standard library, in the same way: frames and types, no words. The
command line writes what is logged to a file where ``AUDITOR_LOG`` names one, and to standard error with ``--debug``.
"""

from __future__ import annotations

import logging
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from auditor.errors import AuditorError

LOG = logging.getLogger("auditor")
"""What happens in a run: devices and their outcomes, and tracebacks. Never a device's text."""
LOG.addHandler(logging.NullHandler())
_PACKAGE = Path(__file__).resolve().parent
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Unforeseen:
    """What is said of an unforeseen exception."""

    text: str


def unforeseen_of(error: BaseException) -> Unforeseen:
    """Return what a person needs to know of an exception, and what to do next; log its traceback.

    The text is the same whether there is a log or not: it stands in reports, which must come again from their evidence.
    """
    LOG.error("%s", "\n".join(frames_of(error)))
    return Unforeseen(
        f"this is a fault of auditor ({place_of(error)}): report it to its maintainers with this line and the "
        "traceback in the log (set AUDITOR_LOG=FILE to have one)"
    )


def attempt(work: Callable[[], T]) -> T | Unforeseen:
    """Do something that may cost one device or one site, but no more than that.

    Raises:
        AuditorError: what is wrong is known, and told by the error itself.
    """
    try:
        return work()
    except AuditorError:
        raise
    except Exception as error:  # noqa: BLE001 - the one place where unforeseen errors end, but for the border
        return unforeseen_of(error)


def place_of(error: BaseException) -> str:
    """Return an exception's type and the innermost place of this package it came through: ``KeyError at a/b.py:12``."""
    frames = [(Path(frame.f_code.co_filename), line) for frame, line in traceback.walk_tb(error.__traceback__)]
    ours = [(file.relative_to(_PACKAGE.parent), line) for file, line in frames if _PACKAGE in file.parents]
    if not ours:
        return type(error).__name__
    file, line = ours[-1]
    return f"{type(error).__name__} at {file.as_posix()}:{line}"


def frames_of(error: BaseException) -> Iterator[str]:
    """Yield the lines of an exception's traceback, and of what led to it: places, functions and types, no words."""
    chain: list[BaseException] = []
    each: BaseException | None = error
    while each is not None and each not in chain:
        chain.append(each)
        each = each.__cause__ or (None if each.__suppress_context__ else each.__context__)
    for one in reversed(chain):
        yield "Traceback, without the words of the exception:" if one is chain[-1] else "which led to:"
        for frame, line in traceback.walk_tb(one.__traceback__):
            yield f"  {_shown(Path(frame.f_code.co_filename))}:{line} in {frame.f_code.co_qualname}"
        yield _type(one)
        if isinstance(one, BaseExceptionGroup):
            yield from (f"  of which {_type(part)}" for part in one.exceptions)


def _type(error: BaseException) -> str:
    return f"{type(error).__module__}.{type(error).__qualname__}"


def _shown(file: Path) -> str:
    """Return a file of code without the folders that say where this machine keeps it."""
    if _PACKAGE in file.parents:
        return file.relative_to(_PACKAGE.parent).as_posix()
    return "/".join(file.parts[-2:])
