"""Question 1: is the plan sound? ``review(plan)`` is the front door of this package."""

from __future__ import annotations

import os
from collections.abc import Mapping

from auditor.plan.loader import Plan
from auditor.review import addresses, deviations, dhcp, functions, links, wifi
from auditor.review.rule import LEVELS, Remark, Rule, Subject

RULES: tuple[Rule, ...] = (
    *addresses.RULES,
    *dhcp.RULES,
    *wifi.RULES,
    *links.RULES,
    *functions.RULES,
    *deviations.RULES,
)


def review(plan: Plan, environment: Mapping[str, str] | None = None) -> list[Remark]:
    """Return what a plan's rules have to say, in the file's order, errors first on one line.

    Args:
        plan: a plan that could be loaded.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.
    """
    subject = Subject(plan, os.environ if environment is None else environment)
    found = [
        Remark(rule, written.file, written.line, path, text)
        for rule in RULES
        for path, text in rule.check(subject)
        for written in [plan.tree.written(path)]
    ]
    return sorted(found, key=lambda remark: (remark.line, LEVELS.index(remark.rule.level), remark.rule.name))


__all__ = ["LEVELS", "RULES", "Remark", "Rule", "review"]
