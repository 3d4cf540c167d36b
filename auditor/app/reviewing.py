"""Plans reviewed: what ``auditor review`` does, as one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from auditor.app.arguments import paths_of
from auditor.app.tally import Tally
from auditor.plan import loader
from auditor.review import Remark, review

_CODES = {"error": 2, "warning": 1, "note": 0}


@dataclass(frozen=True, slots=True)
class PlansReviewed:
    """What is remarkable about plans.

    Attributes:
        exit_code: 0 sound, 1 something in one of them will hurt, 2 something cannot work or a plan cannot be read.
        remarks: of each plan that could be read.
        problems: why the others could not.
    """

    exit_code: int
    remarks: dict[Path, list[Remark]]
    problems: tuple[str, ...]


def review_plans(plans: Sequence[str | Path], *, problem: Callable[[str], None] = lambda _: None) -> PlansReviewed:
    """Review plans: what ``auditor review`` shows. ``problem`` is told why one cannot be read, as it is met.

    Raises:
        UsageError: there are no plans.
    """
    tally = Tally(problem)
    found = {plan: tally.attempt(str(plan), partial(_reviewed, plan)) for plan in paths_of("plans", plans)}
    remarks = {plan: remarks for plan, remarks in found.items() if remarks is not None}
    for level in {remark.rule.level for told in remarks.values() for remark in told}:
        tally.add(_CODES[level])
    return PlansReviewed(tally.code, remarks, tuple(tally.problems))


def _reviewed(plan: Path) -> list[Remark]:
    return review(loader.load(plan))
