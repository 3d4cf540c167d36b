"""``auditor expected``: each device's expected settings."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.keeping import group_option


@click.command("expected")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option(
    "--out", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Folder to write the files to."
)
@click.option("--quiet", is_flag=True, help="Print nothing.")
@group_option
def command(plan: Path, out: Path, quiet: bool, group: bool) -> int:
    """Write each device's expected settings: DEVICE.json normalized, DEVICE.cfg in its own words.

    Passphrases are left out. The text is for reading and comparing: it is no complete configuration.
    """
    from auditor.app.expectation import write_expected  # noqa: PLC0415 - heavy

    files = write_expected(plan, out, group=group)
    for file in () if quiet else files:
        click.echo(file)
    return 0
