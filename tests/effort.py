"""How much is tried: ``quick`` while one works, ``ci`` in ``.ci/run``, ``long`` in ``.ci/run --long``.

A test that tries many things of a kind takes its share of them by these functions. What a share is made of is drawn by
chance once and for all, by the name of each thing and a seed, so that a failure comes again.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from hypothesis import HealthCheck, settings

Thing = TypeVar("Thing")
SEED = 2026
EFFORTS = ("quick", "ci", "long")
MARKS = {"slow": 1, "long": 2}
"""From which effort on a marked test is run."""
EXAMPLES = {"quick": 30, "ci": 100, "long": 300}
"""How many examples Hypothesis tries where a test does not say otherwise."""
_chosen = "long"

for _name, _count in EXAMPLES.items():
    settings.register_profile(
        _name,
        max_examples=_count,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow],
    )


def choose(effort: str) -> None:
    """Set the effort of this process, before any test is collected."""
    global _chosen  # noqa: PLW0603 - one run of pytest has one effort
    _chosen = effort
    settings.load_profile(effort)


def level() -> int:
    """Return 0 for quick, 1 for ci, 2 for long."""
    return EFFORTS.index(_chosen)


def amount(*, quick: int, ci: int, long: int) -> int:
    """Return how many of something are tried."""
    return (quick, ci, long)[level()]


def share(things: Iterable[Thing], key: Callable[[Any], str] = str, *, quick: int = 1, ci: int = 1) -> list[Thing]:
    """Return about one of so many things, in their order; all of them where the effort is long, one in any case.

    Args:
        things: what there is to be tried.
        key: what tells one from another; whether a thing is taken depends on nothing else.
        quick: how many things there are for each that is tried in the quick loop.
        ci: the same in .ci/run.
    """
    return drawn(things, key, amount(quick=quick, ci=ci, long=1))


def drawn(things: Iterable[Thing], key: Callable[[Any], str], one_of: int) -> list[Thing]:
    """Return about one of so many things, whatever the effort, in their order; one in any case."""
    every = list(things)
    chances = sorted((zlib.crc32(f"{SEED} {key(thing)}".encode()) % one_of, at) for at, thing in enumerate(every))
    taken = {at for rest, at in chances if rest == 0} or {at for _, at in chances[:1]}
    return [thing for at, thing in enumerate(every) if at in taken]
