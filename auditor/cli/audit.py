"""``auditor audit``: questions 2 and 3."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli.kept import group_option, history_option, no_history_option
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
@click.option("--quiet", is_flag=True, help="Say nothing but one line about each site that is not conforming.")
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
    quiet: bool,
    history: Path | None,
    no_history: bool,
    group: bool,
    **live: Any,
) -> int:
    """Is what runs on the devices what was planned?

    Without --captures the devices are read over SSH; nothing but read-only commands is sent, and what they say is
    kept beside the reports. evidence.zip has reports, plan and captures, secrets taken out: see "auditor verify". With
    several plans, the captures of each are in a folder named after its file (DIR/clinic for clinic.yaml), and so are
    its reports. Every run is kept in the history, so that the next one can say what came and went.
    """
    from auditor.auditing import audit  # noqa: PLC0415 - heavy
    from auditor.capture.files import SavedCaptures  # noqa: PLC0415
    from auditor.capture.masking import Guarded  # noqa: PLC0415
    from auditor.cli.kept import Keeper  # noqa: PLC0415
    from auditor.cli.output import publish  # noqa: PLC0415
    from auditor.evidence import Recorded  # noqa: PLC0415
    from auditor.plan.loader import load  # noqa: PLC0415

    loaded = [load(path) for path in plans]
    several = len(loaded) > 1
    folders = [out / path.stem if out and several else out for path in plans]
    sources: list[Source] = []
    if captures:
        sources = [SavedCaptures(captures / path.stem if several else captures) for path in plans]
    codes = []
    with Keeper(history, none=no_history, group=group) as keeper:
        if not captures:
            kept = [folder / "captures" if folder else None for folder in folders]
            tour = read_live(loaded, kept, quiet=quiet, group=group, **live)
            sources = [tour.of(plan) for plan in loaded]
        for plan, source, folder in zip(loaded, sources, folders, strict=True):
            recorded = Recorded(plan, source) if folder else None
            report = keeper.keep(audit(plan, recorded or Guarded(plan, source), occasion=occasion))
            publish(report, folder, recorded, quiet=quiet, group=group)
            codes.append(report.exit_code)
    return max(codes)
