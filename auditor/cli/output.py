"""How commands hand a report on: to the terminal, as files, and as evidence."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from auditor.evidence import Recorded, evidence_of
from auditor.model.report import Report
from auditor.reports import FORMATS
from auditor.reports.terminal import one_line, show
from auditor.reports.view import view_of
from auditor.reports.writing import write_atomically

EVIDENCE = "evidence.zip"


def publish(
    report: Report,
    out: Path | None,
    recorded: Recorded | None = None,
    *,
    quiet: bool = False,
    group: bool = False,
    environment: Mapping[str, str] | None = None,
) -> None:
    """Print a report, and write it in every format where a folder is given, with its evidence if it was recorded.

    The files are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        ReportError: a file cannot be written.
    """
    view = view_of(report)
    if not quiet:
        show(view)
    elif report.exit_code:
        click.echo(one_line(view))
    if out is not None:
        written = {form: form.render(view) for form in FORMATS}
        files = {form.file: data for form, data in written.items()}
        if recorded:
            files[EVIDENCE] = evidence_of(recorded, report, view, written, environment)
        for name, data in files.items():
            write_atomically(out / name, data, group=group)
        if not quiet:
            click.echo(f"Reports written to {out}: {', '.join(files)}", err=True)
