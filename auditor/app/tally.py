"""What a run comes to: its exit code, to which each site adds, and what is told of a site that went wrong."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from auditor.errors import AuditorError
from auditor.unforeseen import Unforeseen, attempt

_RISING = (0, 1, 3, 2)
"""Exit codes, the worst last: 0 conforming, 1 findings, 3 incomplete, 2 not audited or results not written."""
T = TypeVar("T")


def and_more(reasons: Sequence[str]) -> str:
    """Return the first of some reasons, and how many more there are."""
    more = len(reasons) - 1
    return f"{reasons[0]} (and {more} more)" if more else reasons[0]


class Tally:
    """Gathers the exit code of a run over sites: what goes wrong at one costs that one alone.

    Attributes:
        code: the exit code so far.
        problems: what went wrong, and whose it is, in the order in which it did.

    Args:
        tell: told of each problem at once, and of each remark.
    """

    def __init__(self, tell: Callable[[str], None] = lambda _: None) -> None:
        self.code = 0
        self.problems: list[str] = []
        self.tell = tell

    def add(self, code: int) -> None:
        """Take an exit code in: the worst wins."""
        self.code = max(self.code, code, key=_RISING.index)

    def fail(self, whose: str, why: str) -> None:
        """Tell what went wrong, and whose it is."""
        self.problems.append(why if why.startswith(f"{whose}:") else f"{whose}: {why}")
        self.tell(self.problems[-1])
        self.add(AuditorError.exit_code)

    def attempt(self, whose: str, work: Callable[[], T]) -> T | None:
        """Do something for a site, and return what comes of it; ``None`` where it went wrong, which is told."""
        try:
            done = attempt(work)
        except AuditorError as error:
            self.fail(whose, str(error))
            return None
        if isinstance(done, Unforeseen):
            self.fail(whose, f"not completed: {done.text}")
            return None
        return done
