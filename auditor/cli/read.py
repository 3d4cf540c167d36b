"""``auditor read``: the daily tool for adding a platform or checking a finding."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click


@click.command("read")
@click.option("--platform", required=True, metavar="NAME", help="The device's dialect, by its netmiko device type.")
@click.option("--json", "as_json", is_flag=True, help="Print the reading for machines.")
@click.option("--lines", "as_lines", is_flag=True, help="Print every line with what became of it.")
@click.argument("files", nargs=-1, required=True, metavar="FILE…", type=click.Path(path_type=Path))
def command(platform: str, as_json: bool, as_lines: bool, files: tuple[Path, ...]) -> int:
    """Show what is understood of one device's capture, and what is not.

    All FILEs belong to the one device. Ends with 0 if the capture is whole and every line of audited areas was
    understood, with 3 otherwise.
    """
    if as_json and as_lines:
        raise click.UsageError("--json and --lines: choose one of them")
    from auditor.app.reading import read_capture  # noqa: PLC0415 - heavy
    from auditor.reports.reading import reading_json, show_lines, show_reading  # noqa: PLC0415

    today = date.today()  # noqa: DTZ011 - the day where it is read
    found = read_capture(platform, files, today=today)
    if as_lines:
        show_lines(found.reading)
    elif as_json:
        click.echo(reading_json(found.reading, found.day))
    else:
        show_reading(found.reading, found.day, today)
    return 0 if found.reading.complete else 3
