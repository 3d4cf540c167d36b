"""Many checks of one thing, in one test: each is made, and what fails says which check it was."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterable
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
    failures = []
    for check in checks:
        try:
            check(thing)
        except Exception as failure:  # noqa: BLE001 - whatever goes wrong in one check must not hide the others
            failure.add_note(f"check: {check.__module__}.{check.__name__}{f' of {name}' if name else ''}")
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
