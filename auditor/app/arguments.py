"""What callers give: checked at the door, so that a slip is a UsageError in words and no accident further in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal, get_args

from auditor.core.report import MAX_AGES, Occasion
from auditor.errors import UsageError


def paths_of(what: str, given: Sequence[str | Path]) -> list[Path]:
    """Return several paths, one at least; a single text or path is no list of them.

    Raises:
        UsageError: it is no such list, or empty.
    """
    if isinstance(given, str | Path):
        raise UsageError(f"{what}: expected a list of paths, not the single {str(given)!r}: write [{str(given)!r}]")
    if not given:
        raise UsageError(f"{what}: expected one path at least")
    return [Path(each) for each in given]


def age_limit(occasion: Occasion, max_age: int | Literal["by occasion"] | None) -> int | None:
    """Return how many days old a capture may be, ``None`` for any number.

    Raises:
        UsageError: there is no such occasion, or it is no number of days.
    """
    if occasion not in MAX_AGES:
        raise UsageError(f"occasion: expected {', '.join(get_args(Occasion))}, not {occasion!r}")
    if max_age is None:
        return None
    if max_age == "by occasion":
        return MAX_AGES[occasion]
    if isinstance(max_age, bool) or not isinstance(max_age, int) or max_age < 0:
        raise UsageError(f"max_age: expected a number of days, None or 'by occasion', not {max_age!r}")
    return max_age
