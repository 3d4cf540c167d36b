"""``auditor demo``: a whole made-up site, audited."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli.kept import group_option


@click.command("demo")
@click.option("--out", metavar="DIR", type=click.Path(path_type=Path), help="Write plan, captures and reports there.")
@group_option
def command(out: Path | None, group: bool) -> int:
    """Audit a whole made-up site, Quarry Road Veterinary Clinic, on the day it is handed over.

    Its devices were captured with a handful of faults, so that this ends with exit code 1.
    """
    from auditor.cli.output import publish  # noqa: PLC0415 - heavy
    from auditor.demo import PASSPHRASES, demo_captures, demo_plan, demo_report, write_demo  # noqa: PLC0415
    from auditor.evidence import Recorded  # noqa: PLC0415

    recorded = Recorded(demo_plan(), demo_captures(), PASSPHRASES) if out else None
    report = demo_report(recorded)
    publish(report, out / "report" if out else None, recorded, group=group, environment=PASSPHRASES)
    if out is not None:
        write_demo(out, group=group)
        click.echo(f"Plan and captures written to {out}", err=True)
    return report.exit_code
