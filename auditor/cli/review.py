"""``auditor review``: question 1, before anything is delivered."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("review")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, is_eager=True, help="Say beside each remark where its rule comes from.")
def command(plans: tuple[Path, ...], rules: bool) -> int:
    """Is the plan sound?

    Ends with 0 if it is, with 1 if something in it will hurt, with 2 if something cannot work.
    """
    from auditor.plan.loader import load  # noqa: PLC0415 - heavy
    from auditor.reports.review import show_review  # noqa: PLC0415
    from auditor.review import review  # noqa: PLC0415

    remarks = {path: review(load(path)) for path in plans}
    show_review(remarks, sources=rules)
    levels = {remark.rule.level for found in remarks.values() for remark in found}
    return 2 if "error" in levels else 1 if "warning" in levels else 0
