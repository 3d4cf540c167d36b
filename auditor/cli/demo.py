"""``auditor demo``: a whole made-up site, audited."""

from __future__ import annotations

import shlex
from datetime import date
from functools import partial
from pathlib import Path

import click

from auditor.cli.keeping import group_option
from auditor.cli.tally import Tally


@click.command("demo")
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), help="Folder to write plan, captures and reports to."
)
@group_option
def command(out: Path | None, group: bool) -> int:
    """Audit a whole made-up site, Quarry Road Veterinary Clinic, on the day it is handed over.

    Its devices were captured with a handful of faults, so that this ends with exit code 1.
    """
    from auditor.app.demo import PASSPHRASES, demo_captures, demo_plan, demo_report, write_demo  # noqa: PLC0415
    from auditor.cli.output import publish  # noqa: PLC0415 - heavy
    from auditor.evidence import Recorded  # noqa: PLC0415

    tally, today = Tally(), date.today()  # noqa: DTZ011 - the day of the demo is that of the person who runs it
    recorded = Recorded(demo_plan(), demo_captures(today), PASSPHRASES) if out else None
    report = demo_report(today, recorded)
    tally.add(report.exit_code)
    if out is not None:
        tally.attempt("demo", partial(write_demo, out, today, group=group))
    folder = out / "report" if out else None
    tally.attempt("demo", partial(publish, report, folder, recorded, group=group, environment=PASSPHRASES))
    if out is not None and tally.code == report.exit_code:
        given = " ".join(f"{name}={shlex.quote(text)}" for name, text in PASSPHRASES.items())
        plan, captures = (shlex.quote(str(out / name)) for name in ("plan.yaml", "captures"))
        again = f"{given} auditor audit {plan} --captures {captures}"
        click.echo(f"Plan and captures written to {out}. Break them and audit again: {again}", err=True)
    return tally.code
