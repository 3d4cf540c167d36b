"""``auditor capture``: read the devices of plans over SSH and keep what they say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from auditor.cli.kept import group_option
from auditor.cli.live import live_options, read_live


@click.command("capture")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--out", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Where captures go.")
@click.option("--quiet", is_flag=True, help="Say nothing but which devices could not be read.")
@group_option
@live_options
def command(plans: tuple[Path, ...], out: Path, quiet: bool, group: bool, **live: Any) -> int:
    """Read the devices of PLAN over SSH, and keep what they say in DIR/<device>/.

    Only read-only commands are sent. Secrets are taken out before anything is written. With several plans, DIR has a
    folder named after the file of each. Ends with 0 if every device was read, with 3 otherwise.
    """
    from auditor.plan.loader import load  # noqa: PLC0415 - heavy
    from auditor.reports.progress import told  # noqa: PLC0415

    loaded = [load(path) for path in plans]
    folders = [out / path.stem if len(plans) > 1 else out for path in plans]
    tour = read_live(loaded, folders, quiet=quiet, group=group, **live)
    failed = [result for result in tour.failed if result.key[1] in (live["only"] or [result.key[1]])]
    for result in failed if quiet else ():
        click.echo(told(result), err=True)
    return 3 if failed else 0
