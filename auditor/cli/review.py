"""``auditor review``: question 1, before anything is delivered."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.tally import Tally

_CODES = {"error": 2, "warning": 1, "note": 0}


@click.command("review")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, is_eager=True, help="Say beside each remark where its rule comes from.")
def command(plans: tuple[Path, ...], rules: bool) -> int:
    """Is the plan sound?

    Ends with 0 if it is, with 1 if something in it will hurt, with 2 if something cannot work or a
    plan cannot be read; the others are reviewed all the same.
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
