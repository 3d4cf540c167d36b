"""How commands hand a report on: to the terminal, and as files."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.model.report import Report
from auditor.reports import FORMATS
from auditor.reports.terminal import one_line, show
from auditor.reports.view import view_of
from auditor.reports.writing import write_atomically


def publish(report: Report, out: Path | None, *, quiet: bool = False) -> None:
    """Print a report, and write it in every format where a folder is given.

    Raises:
        ReportError: a file cannot be written.
    """
    view = view_of(report)
    if not quiet:
        show(view)
    elif report.exit_code:
        click.echo(one_line(view))
    if out is not None:
        for form in FORMATS:
            write_atomically(out / form.file, form.render(view))
        if not quiet:
            click.echo(f"Reports written to {out}: {', '.join(form.file for form in FORMATS)}", err=True)
