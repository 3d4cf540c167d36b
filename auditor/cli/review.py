"""``auditor review``: question 1, before anything is delivered."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("review")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, is_eager=True, help="Print the source of the rule beside each remark.")
def command(plans: tuple[Path, ...], rules: bool) -> int:
    """Check the plan on paper.

    Exit code 0: the plan is sound. 1: warnings. 2: errors, or a plan that cannot be read; the other plans are
    reviewed all the same.
    """
    from auditor.app.reviewing import review_plans  # noqa: PLC0415 - heavy
    from auditor.cli.output import tell  # noqa: PLC0415
    from auditor.reports.review import show_review  # noqa: PLC0415

    found = review_plans(plans, problem=tell)
    show_review(found.remarks, sources=rules)
    return found.exit_code
