"""``auditor audit``: questions 2 and 3."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any, Literal

import click

from auditor.cli.age import captured_on_option, max_age_option
from auditor.cli.keeping import group_option, history_option, no_history_option
from auditor.cli.live import live_of, live_options
from auditor.core.report import OCCASIONS, Occasion


@click.command("audit")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option(
    "--captures", metavar="DIR", type=click.Path(path_type=Path), help="Folder with the saved text of the devices."
)
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help="Folder to write the reports to.")
@click.option(
    "--occasion", type=click.Choice(OCCASIONS), default="routine", show_default=True, help="Why it is audited."
)
@max_age_option
@captured_on_option
@click.option("--quiet", is_flag=True, help="Print nothing but one line about each site that is not conforming.")
@history_option
@no_history_option
@group_option
@live_options
def command(
    *,
    plans: tuple[Path, ...],
    captures: Path | None,
    out: Path | None,
    occasion: Occasion,
    max_age: int | Literal["by occasion"] | None,
    captured_on: date | None,
    quiet: bool,
    history: Path | None,
    no_history: bool,
    group: bool,
    **live: Any,
) -> int:
    """Compare what runs on the devices with the plan.

    Without --captures the devices are read over SSH; nothing but read-only commands is sent, and what they print is
    saved beside the reports. evidence.zip has reports, plan and captures, secrets taken out: see "auditor verify". With
    several plans, the captures of each are in a folder named after its file (DIR/clinic for clinic.yaml) or, where that
    is plan.yaml, after the folder it is in, and so are its reports. An error at one site affects that site alone.
    Every run is kept in the history, so that the next one can say what came and went.

    The day of a capture is that of its capture.json, or of a line by which the device says when it was read, else
    --captured-on, else the time of its file; an acceptance needs one of the first three.
    """
    for name in ("only", "accept") if captures else ():
        if live[name]:
            raise click.UsageError(f"--{name} is for devices that are read over SSH: leave out either it or --captures")
    if captured_on and not captures:
        raise click.UsageError("--captured-on gives the day of saved captures: name their folder with --captures")
    from auditor.app.rounds import audit_sites  # noqa: PLC0415 - heavy
    from auditor.cli.output import listener  # noqa: PLC0415

    return audit_sites(
        plans,
        captures=captures,
        captured_on=captured_on,
        live=None if captures else live_of(**live),
        out=out,
        occasion=occasion,
        max_age=max_age,
        history=history,
        keep=not no_history,
        group=group,
        told=listener(quiet=quiet),
    ).exit_code
