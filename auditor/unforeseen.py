"""Unforeseen errors: an exception that is no error of ours becomes a sentence, at the few places that may catch one.

An exception's own words may quote a device's text or a secret, so only its type and its place in the code are told.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from auditor.errors import AuditorError

_PACKAGE = Path(__file__).resolve().parent
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Unforeseen:
    """What is said of an unforeseen exception."""

    text: str


def unforeseen_of(error: BaseException) -> Unforeseen:
    """Return what a person needs to know of an exception, and what to do next."""
    return Unforeseen(f"this is a fault of auditor ({place_of(error)}): report it to its maintainers with this line")


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
