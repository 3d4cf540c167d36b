"""``auditor capture``: read the devices of plans over SSH and keep what they say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from auditor.cli.keeping import group_option
from auditor.cli.live import live_options, read_live
from auditor.cli.sites import sites_of
from auditor.cli.tally import Tally


@click.command("capture")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option(
    "--out", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Folder to write the captures to."
)
@click.option("--quiet", is_flag=True, help="Print nothing but which devices could not be read.")
@group_option
@live_options
def command(plans: tuple[Path, ...], out: Path, quiet: bool, group: bool, **live: Any) -> int:
    """Read the devices of PLAN over SSH, and keep what they say in DIR/<device>/.

    Only read-only commands are sent. Secrets are taken out before anything is written. With several plans, DIR has a
    folder named after the file of each, or after its folder where it is plan.yaml. Ends with 0 if every device was
    read, with 3 if one was not, with 2 if a plan is wrong or a capture could not be written; all others are read then.
    """
    from auditor.reports.progress import outcome_line  # noqa: PLC0415 - heavy

    tally = Tally()
    sites = sites_of(plans, tally, sharing=True)
    if not sites:
        return tally.code
    captured_sites = read_live(sites, lambda site: site.below(out), tally, quiet=quiet, group=group, **live)
    failed = [result for result in captured_sites.failed if result.key[1] in (live["only"] or [result.key[1]])]
    for result in failed if quiet else ():
        click.echo(outcome_line(result), err=True)
    tally.add(3 if failed else 0)
    return tally.code
