"""``auditor overview``: all sites on one page."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from auditor.cli.keeping import group_option, history_option, the_history


@click.command("overview")
@click.option("--out", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Write the page there.")
@click.option(
    "--overdue-after",
    metavar="DAYS",
    type=click.IntRange(1),
    default=40,
    show_default=True,
    help="How long after the oldest capture of its last complete audit a site is overdue.",
)
@history_option
@group_option
def command(out: Path, overdue_after: int, history: Path | None, group: bool) -> int:
    """Write all sites on one page: the most urgent first, which are overdue, which were never read completely.

    The page is one file that asks for nothing from elsewhere; beside it overview.json has the same for machines.
    """
    from auditor.history import History  # noqa: PLC0415 - heavy
    from auditor.reports.overview import headline, overview_files  # noqa: PLC0415
    from auditor.reports.writing import write_files  # noqa: PLC0415

    with History.open(the_history(history)) as kept:
        found = kept.overview(date.today(), overdue_after)  # noqa: DTZ011 - the day where the page is asked for
    write_files(out, overview_files(found), group=group)
    click.echo(headline(found))
    return 0
