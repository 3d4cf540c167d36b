"""``auditor capture``: read the devices of plans over SSH and keep what they say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from auditor.cli.keeping import group_option
from auditor.cli.live import live_of, live_options


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
    from auditor.app.rounds import capture_sites  # noqa: PLC0415 - heavy
    from auditor.capture.interface import NotCaptured  # noqa: PLC0415
    from auditor.cli.output import listener  # noqa: PLC0415
    from auditor.reports.progress import outcome_line  # noqa: PLC0415

    done = capture_sites(plans, out, live=live_of(**live), group=group, told=listener(quiet=quiet))
    for result in done.devices if quiet else ():
        if isinstance(result.captured, NotCaptured):
            click.echo(outcome_line(result), err=True)
    return done.exit_code
