"""Which runs of a site are kept.

All of the last 24 months; of older ones the last of each month; always the first and the last one, and every
acceptance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

YEARS = 2


@dataclass(frozen=True, slots=True)
class DatedRun:
    """A run as far as keeping it goes."""

    id: int
    day: date
    occasion: str


def dropped(runs: Sequence[DatedRun], today: date) -> list[int]:
    """Return the runs to let go of, given all of one site in the order of time."""
    last_of_month = {(run.day.year, run.day.month): run.id for run in runs}
    kept = {*last_of_month.values(), *(run.id for run in (*runs[:1], *runs[-1:]))}
    since = (today.year - YEARS, today.month, today.day)
    return [
        run.id
        for run in runs
        if run.id not in kept and run.occasion != "acceptance" and (run.day.year, run.day.month, run.day.day) < since
    ]
