"""``auditor history``: the audits of a site, what came and what went."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.keeping import history_option


@click.command("history")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@history_option
def command(plan: Path, as_json: bool, history: Path | None) -> int:
    """What came and went at a site since earlier audits?

    A site is known by its plan's reference, or else by its name; a finding by device and setting, so that a port that
    was renumbered is a new finding. What a device that was not audited had is neither there nor gone: it is not seen.
    """
    from auditor.app.keeping import site_history  # noqa: PLC0415 - heavy
    from auditor.reports.history import show_history  # noqa: PLC0415

    found = site_history(plan, history=history)
    if as_json:
        click.echo(found.model_dump_json(indent=2))
    else:
        show_history(found)
    return 0
