"""How commands hand a report on: as files, as evidence, and to the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

import click

from auditor.core.report import Report
from auditor.errors import AuditorError, ReportError
from auditor.evidence import Recorded, evidence_of
from auditor.reports import FORMATS, naming_files
from auditor.reports.json import FORMAT as JSON
from auditor.reports.terminal import one_line, show
from auditor.reports.view import View, view_of
from auditor.reports.writing import write_files
from auditor.unforeseen import Unforeseen, attempt

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
    """Write a report in every format where a folder is given, with its evidence if it was recorded; then print it.

    A file that cannot be made or written costs neither the others nor what is printed.

    The files are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        ReportError: a file could not be made or written.
    """
    view = view_of(report)
    made = _Files()
    if out is not None:
        made.render(view, recorded, environment)
        made.attempt("", partial(write_files, out, made.files, group=group))
    if not quiet:
        show(view)
    elif report.exit_code:
        click.echo(one_line(view))
    if made.failed:
        raise ReportError("; ".join(made.failed))
    if out is not None and not quiet:
        click.echo(f"Reports written to {out}: {', '.join(made.files)}", err=True)


class _Files:
    """The files of a report by name, and what went wrong with those that are not there."""

    def __init__(self) -> None:
        self.files: dict[str, bytes] = {}
        self.failed: list[str] = []

    def render(self, view: View, recorded: Recorded | None, environment: Mapping[str, str] | None) -> None:
        """Make the report in every format, and its evidence."""
        view = naming_files(view, FORMATS)
        for form in FORMATS:
            self.make(form.file, partial(form.render, view))
        written = {form: self.files[form.file] for form in FORMATS if form.file in self.files}
        if JSON in written and len(written) < len(FORMATS):
            written[JSON] = self.files[JSON.file] = JSON.render(naming_files(view, written))
        if recorded:
            self.make(EVIDENCE, partial(evidence_of, recorded, view.report, written, environment))

    def make(self, name: str, work: Callable[[], bytes]) -> None:
        """Make a file."""
        self.attempt(f"{name} was not made: ", lambda: self.files.update({name: work()}))

    def attempt(self, what: str, work: Callable[[], None]) -> None:
        """Do something, and remember what goes wrong."""
        try:
            done = attempt(work)
        except AuditorError as error:
            self.failed.append(str(error))
        else:
            if isinstance(done, Unforeseen):
                self.failed.append(f"{what}{done.text}")
