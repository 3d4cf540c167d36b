"""``auditor demo``: a whole made-up site, audited."""

from __future__ import annotations

import os
import shlex
from collections.abc import Mapping
from pathlib import Path

import click

from auditor.cli.keeping import group_option


@click.command("demo")
@click.option(
    "--out", metavar="DIR", type=click.Path(path_type=Path), help="Folder to write plan, captures and reports to."
)
@group_option
def command(out: Path | None, group: bool) -> int:
    """Audit a whole made-up site, Quarry Road Veterinary Clinic, on the day it is handed over.

    Its devices were captured with a handful of faults, so that this ends with exit code 1.
    """
    from auditor.app.demo import PASSPHRASES, run_demo  # noqa: PLC0415 - heavy
    from auditor.cli.output import listener  # noqa: PLC0415

    done = run_demo(out, group=group, told=listener())
    if out is not None and not done.problems:
        again = audit_again(out, PASSPHRASES)
        click.echo(f"Plan and captures written to {out}. Break them and audit again: {again}", err=True)
    return done.exit_code


def audit_again(out: Path, passphrases: Mapping[str, str], *, windows: bool = os.name == "nt") -> str:
    """Return the commands that audit what was written, for a POSIX shell or for PowerShell."""
    paths = str(out / "plan.yaml"), str(out / "captures")
    if windows:
        given = "".join(f"$env:{name} = {_quoted(text)}; " for name, text in passphrases.items())
        plan, captures = map(_quoted, paths)
    else:
        given = "".join(f"{name}={shlex.quote(text)} " for name, text in passphrases.items())
        plan, captures = map(shlex.quote, paths)
    return f"{given}auditor audit {plan} --captures {captures}"


def _quoted(text: str) -> str:
    """Return a text as PowerShell takes it word for word (Microsoft, "about_Quoting_Rules")."""
    return "'" + text.replace("'", "''") + "'"
