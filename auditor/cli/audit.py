"""``auditor audit``: questions 2 and 3."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.model.report import OCCASIONS, Occasion

if TYPE_CHECKING:
    from auditor.model.report import Report


@click.command("audit")
@click.argument("plans", nargs=-1, required=True, metavar="PLAN…", type=click.Path(path_type=Path))
@click.option(
    "--captures", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Saved text of the devices."
)
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help="Write the reports there.")
@click.option(
    "--occasion", type=click.Choice(OCCASIONS), default="routine", show_default=True, help="Why it is audited."
)
@click.option("--quiet", is_flag=True, help="Say nothing but one line about each site that is not conforming.")
def command(plans: tuple[Path, ...], captures: Path, out: Path | None, occasion: Occasion, quiet: bool) -> int:
    """Is what runs on the devices what was planned?

    With several plans, the captures of each are in a folder named after its file (DIR/clinic for clinic.yaml), and
    so are its reports.
    """
    from auditor.auditing import audit  # noqa: PLC0415 - heavy
    from auditor.capture.files import SavedCaptures  # noqa: PLC0415
    from auditor.cli.output import publish  # noqa: PLC0415
    from auditor.plan.loader import load  # noqa: PLC0415

    loaded = [load(path) for path in plans]
    several = len(loaded) > 1
    sources = [SavedCaptures(captures / path.stem if several else captures) for path in plans]
    reports: list[Report] = []
    for path, plan, source in zip(plans, loaded, sources, strict=True):
        report = audit(plan, source, occasion=occasion)
        publish(report, out / path.stem if out and several else out, quiet=quiet)
        reports.append(report)
    return max(report.exit_code for report in reports)
