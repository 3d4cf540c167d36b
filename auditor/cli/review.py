"""``auditor review``: question 1, before anything is delivered."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("review")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--rules", is_flag=True, is_eager=True, help="Say beside each remark where its rule comes from.")
def command(plans: tuple[Path, ...], rules: bool) -> int:
    """Is the plan sound?

    Ends with 0 if it is, with 1 if something in it will hurt, with 2 if something cannot work or a
    plan cannot be read; the others are reviewed all the same.
    """
    from auditor.app.reviewing import review_plans  # noqa: PLC0415 - heavy
    from auditor.cli.output import tell  # noqa: PLC0415
    from auditor.reports.review import show_review  # noqa: PLC0415

    found = review_plans(plans, problem=tell)
    show_review(found.remarks, sources=rules)
    return found.exit_code
