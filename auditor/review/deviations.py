"""Rules about approved deviations."""

from __future__ import annotations

from auditor.plan.old_names import old_names
from auditor.review.rule import Found, Rule, Subject


def _renamed(subject: Subject) -> Found:
    yield from old_names(subject.plan)


RULES = (
    Rule(
        "setting-renamed",
        "note",
        "Approved deviations call settings by their names of today.",
        "the plan itself",
        _renamed,
    ),
)
