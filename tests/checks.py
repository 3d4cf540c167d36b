"""Many checks of one thing, in one test: each is made, and what fails says which check it was."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterable
from functools import partial
from typing import TypeVar

from tests.conftest import ROOT

Thing = TypeVar("Thing")
HANGS = 1200
"""After so many seconds a process is taken for one that never ends; nothing else is judged by the clock."""


def hold(checks: Iterable[Callable[[Thing], None]], thing: Thing, name: str = "") -> None:
    """Make all checks of a thing, also where one has failed.

    Args:
        checks: functions that raise where the thing is wrong.
        thing: what is checked.
        name: what it is called, where the test's own name does not say.

    Raises:
        Exception: the failure of the only check that failed, with the check's name.
        ExceptionGroup: the failures of several.
    """
    of = f" of {name}" if name else ""
    _all((partial(check, thing), f"check: {check.__module__}.{check.__name__}{of}") for check in checks)


def each(things: Iterable[Thing], check: Callable[[Thing], None], name: Callable[[Thing], str] = str) -> None:
    """Check each of many small things in one test; what runs and reports a test costs more than some of them do.

    Args:
        things: what is checked, one thing at least.
        check: a function that raises where a thing is wrong.
        name: what a thing is called.

    Raises:
        AssertionError: there is nothing to check.
        Exception: the failure of the only thing that is wrong, with its name.
        ExceptionGroup: the failures of several.
    """
    every = list(things)
    assert every, "there is nothing to check"
    _all((partial(check, thing), name(thing)) for thing in every)


def _all(attempts: Iterable[tuple[Callable[[], None], str]]) -> None:
    """Make every attempt, also where one has failed."""
    failures = []
    for attempt, name in attempts:
        try:
            attempt()
        except Exception as failure:  # noqa: BLE001 - whatever goes wrong in one must not hide the others
            failure.add_note(name)
            failures.append(failure)
    if len(failures) == 1:
        raise failures[0]
    if failures:
        raise ExceptionGroup(f"{len(failures)} checks failed", failures)


def ends(module: str, *arguments: str, seconds: int = 300) -> None:
    """Run a module that would go on for hours if it were wrong.

    Processor time is limited and not time, so that a busy machine makes no difference.

    Raises:
        AssertionError: it failed, or took longer.
    """
    limit = f"import resource, runpy; resource.setrlimit(resource.RLIMIT_CPU, ({seconds}, {seconds}))"
    code = f"{limit}; runpy.run_module({module!r}, run_name='__main__')"
    command = [sys.executable, "-c", code, *arguments]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr or f"{module} took more than {seconds} s of processor time"
