"""``auditor review``: question 1, before anything is delivered."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.tally import Tally

_CODES = {"error": 2, "warning": 1, "note": 0}


@click.command("review")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, is_eager=True, help="Print the source of the rule beside each remark.")
def command(plans: tuple[Path, ...], rules: bool) -> int:
    """Check the plan on paper.

    Exit code 0: the plan is sound. 1: warnings. 2: errors, or a plan that cannot be read; the other plans are
    reviewed all the same.
    """
    from auditor.plan.loader import load  # noqa: PLC0415 - heavy
    from auditor.reports.review import show_review  # noqa: PLC0415
    from auditor.review import review  # noqa: PLC0415

    tally = Tally()
    found = {path: tally.attempt(str(path), lambda path=path: review(load(path))) for path in plans}  # type: ignore[misc]
    remarks = {path: told for path, told in found.items() if told is not None}
    show_review(remarks, sources=rules)
    for level in {remark.rule.level for told in remarks.values() for remark in told}:
        tally.add(_CODES[level])
    return tally.code
