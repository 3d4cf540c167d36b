"""How a report is handed on: written in every format, with its evidence, and then given to whoever listens."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from auditor.core.report import Report
from auditor.errors import AuditorError, ReportError
from auditor.evidence import Recorded, evidence_of
from auditor.reports import FORMATS, naming_files
from auditor.reports.json import FORMAT as JSON
from auditor.reports.view import View, view_of
from auditor.reports.writing import write_files
from auditor.unforeseen import Unforeseen, attempt

EVIDENCE = "evidence.zip"


@dataclass(frozen=True, slots=True)
class SiteAudited:
    """What became of the audit of a site.

    Attributes:
        label: what the site is called: its plan file as it was named.
        view: the report with its words, as every format has it.
        out: the folder of its files; ``None`` where none were asked for.
        files: the files that were made, by name.
        failed: what could not be made or written, and why.
    """

    label: str
    view: View
    out: Path | None = None
    files: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()

    @property
    def report(self) -> Report:
        """The report."""
        return self.view.report


def publish(
    label: str,
    report: Report,
    out: Path | None,
    recorded: Recorded | None,
    told: Callable[[SiteAudited], None],
    *,
    group: bool = False,
    environment: Mapping[str, str] | None = None,
) -> SiteAudited:
    """Write a report in every format where a folder is given, with its evidence if it was recorded; then tell of it.

    A file that cannot be made or written costs neither the others nor what is told.

    The files are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        ReportError: a file could not be made or written; it was told.
    """
    view = view_of(report)
    made = _Files()
    if out is not None:
        made.render(view, recorded, environment)
        made.attempt("", partial(write_files, out, made.files, group=group))
    site = SiteAudited(label, view, out, tuple(made.files), tuple(made.failed))
    told(site)
    if made.failed:
        raise ReportError("; ".join(made.failed))
    return site


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
