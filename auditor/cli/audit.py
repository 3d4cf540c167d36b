"""``auditor audit``: questions 2 and 3."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from auditor.cli.age import captured_on_option, max_age_option
from auditor.cli.kept import history_option, no_history_option
from auditor.cli.live import live_options, read_live
from auditor.model.report import OCCASIONS, Occasion

if TYPE_CHECKING:
    from auditor.capture.interface import Source


@click.command("audit")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option("--captures", metavar="DIR", type=click.Path(path_type=Path), help="Saved text of the devices.")
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help="Write the reports there.")
@click.option(
    "--occasion", type=click.Choice(OCCASIONS), default="routine", show_default=True, help="Why it is audited."
)
@max_age_option
@captured_on_option
@click.option("--quiet", is_flag=True, help="Say nothing but one line about each site that is not conforming.")
@history_option
@no_history_option
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
    **live: Any,
) -> int:
    """Is what runs on the devices what was planned?

    Without --captures the devices are read over SSH; nothing but read-only commands is sent, and what they say is
    kept beside the reports. evidence.zip has reports, plan and captures, secrets taken out: see "auditor verify". With
    several plans, the captures of each are in a folder named after its file (DIR/clinic for clinic.yaml), and so are
    its reports. Every run is kept in the history, so that the next one can say what came and went.

    The day of a capture is that of its capture.json, or of a line by which the device says when it was read, else
    --captured-on, else the time of its file; an acceptance needs one of the first three.
    """
    from auditor.auditing import audit  # noqa: PLC0415 - heavy
    from auditor.capture.files import SavedCaptures  # noqa: PLC0415
    from auditor.cli.kept import Keeper  # noqa: PLC0415
    from auditor.cli.output import publish  # noqa: PLC0415
    from auditor.evidence import Recorded  # noqa: PLC0415
    from auditor.plan.loader import load  # noqa: PLC0415

    loaded = [load(path) for path in plans]
    several = len(loaded) > 1
    folders = [out / path.stem if out and several else out for path in plans]
    sources: list[Source] = []
    if captured_on and not captures:
        raise click.UsageError("--captured-on is the day of saved captures: say with --captures where they are")
    if captures:
        sources = [SavedCaptures(captures / path.stem if several else captures, captured_on) for path in plans]
    codes = []
    with Keeper(history, none=no_history) as keeper:
        if not captures:
            kept = [folder / "captures" if folder else None for folder in folders]
            tour = read_live(loaded, kept, quiet=quiet, **live)
            sources = [tour.of(plan) for plan in loaded]
        for plan, source, folder in zip(loaded, sources, folders, strict=True):
            recorded = Recorded(plan, source) if folder else None
            report = keeper.keep(audit(plan, recorded or source, occasion=occasion, max_age=max_age))
            publish(report, folder, recorded, quiet=quiet)
            codes.append(report.exit_code)
    return max(codes)
