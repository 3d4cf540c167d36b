"""``auditor audit``: questions 2 and 3."""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from auditor.cli.age import captured_on_option, max_age_option
from auditor.cli.keeping import Keeper, group_option, history_option, no_history_option
from auditor.cli.live import live_options, read_live
from auditor.cli.sites import Site, sites_of
from auditor.cli.tally import Tally, and_more
from auditor.core.report import OCCASIONS, Occasion

if TYPE_CHECKING:
    from auditor.capture.interface import CaptureSource


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
    tally = Tally()
    sites = sites_of(plans, tally, sharing=bool(captures or out))
    sources = _saved(sites, captures, captured_on, tally) if captures else {}
    sites = [site for site in sites if site in sources or not captures]
    if not sites:
        return tally.code
    with Keeper(history, tally, none=no_history, group=group) as keeper:
        if not captures:
            captured_sites = read_live(
                sites, lambda site: site.below(out, "captures"), tally, quiet=quiet, group=group, **live
            )
            sources = {site: captured_sites.of(site.plan) for site in sites}
        for site in sites:
            options = {"occasion": occasion, "max_age": max_age}
            shown = {"quiet": quiet, "group": group}
            audited = partial(_audited, site, sources[site], site.below(out), keeper, shown, **options)
            tally.add(tally.attempt(site.label, audited) or 0)
    return tally.code


def _audited(
    site: Site, source: CaptureSource, folder: Path | None, keeper: Keeper, shown: dict[str, Any], **options: Any
) -> int:
    """Audit a site, write and print its report as ``shown`` says, and return its exit code.

    Raises:
        ReportError: some of the report could not be written.
    """
    from auditor.app.auditing import audit  # noqa: PLC0415 - heavy
    from auditor.capture.masking import Guarded  # noqa: PLC0415
    from auditor.cli.output import publish  # noqa: PLC0415
    from auditor.evidence import Recorded  # noqa: PLC0415
    from auditor.plan.old_names import old_names  # noqa: PLC0415

    if remarks := [str(site.plan.problem(path, text)) for path, text in old_names(site.plan)]:
        click.echo(f"auditor: {and_more(remarks)}", err=True)
    recorded = Recorded(site.plan, source) if folder else None
    report = keeper.keep(audit(site.plan, recorded or Guarded(site.plan, source), corrections=bool(folder), **options))
    publish(report, folder, recorded, **shown)
    return report.exit_code


def _saved(sites: list[Site], captures: Path, captured_on: date | None, tally: Tally) -> dict[Site, CaptureSource]:
    """Return the saved captures of sites, but for those that have no folder, which is told."""
    from auditor.capture.files import SavedCaptures  # noqa: PLC0415 - heavy

    found: dict[Site, CaptureSource] = {}
    for site in sites:
        folder = site.below(captures) or captures
        if saved := tally.attempt(site.label, partial(SavedCaptures, folder, captured_on)):
            found[site] = saved
    return found
