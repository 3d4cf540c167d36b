"""``auditor overview``: all sites on one page."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.keeping import group_option, history_option


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
    from auditor.app.overview import write_overview  # noqa: PLC0415 - heavy
    from auditor.reports.overview import headline  # noqa: PLC0415

    click.echo(headline(write_overview(out, overdue_after=overdue_after, history=history, group=group)))
    return 0
