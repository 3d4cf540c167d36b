"""What commands that keep something share: the history's options, for whom files are, how a command keeps its runs."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Self

import click

from auditor.cli.tally import Tally, and_more
from auditor.errors import HistoryError
from auditor.unforeseen import Unforeseen, attempt

if TYPE_CHECKING:
    from auditor.core.report import Report
    from auditor.history import History

history_option = click.option(
    "--history",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File of the history, instead of $AUDITOR_HISTORY or the user's data directory.",
)
group_option = click.option(
    "--group", is_flag=True, help="Let the umask decide who may read the files, instead of their owner alone."
)
no_history_option = click.option("--no-history", is_flag=True, help="Do not keep this run in the history.")


def the_history(named: Path | None) -> Path:
    """Return the file that audits are kept in."""
    from auditor.history import history_file  # noqa: PLC0415 - heavy

    return named or history_file(os.environ, Path.home())


class Keeper:
    """Keeps the runs of a command. A history that cannot be used costs no audit and no report: it is told of."""

    def __init__(self, named: Path | None, tally: Tally, *, none: bool, group: bool = False) -> None:
        self._history: History | None = None
        self._path = Path()
        self._tally = tally
        self._unkept: list[str] = []
        self._sites: set[str] = set()
        if none:
            return
        from auditor.history import History  # noqa: PLC0415 - heavy

        self._path = the_history(named)
        self._history = tally.attempt(str(self._path), lambda: History.begin(self._path, _now(), group=group))
        if self._history and (aside := self._history.set_aside):
            click.echo(
                f"auditor: {self._path} was damaged: it was set aside as {aside}, and a new history begun", err=True
            )

    def __enter__(self) -> Self:
        return self

    def keep(self, report: Report) -> Report:
        """Keep a run, and return its report with what came and went."""
        history = self._history
        if history is None:
            return report
        site = report.reference or report.site
        if site in self._sites:
            click.echo(
                f"auditor: {site!r} is the reference of several plans: their audits are kept as one site's", err=True
            )
        self._sites.add(site)
        try:
            kept = attempt(lambda: history.add(report, _now()))
        except HistoryError as error:
            self._unkept.append(str(error))
            return report
        if isinstance(kept, Unforeseen):
            self._unkept.append(kept.text)
            return report
        return kept

    def __exit__(self, *error: object) -> None:
        if self._history:
            self._history.__exit__(None, None, None)
        if self._unkept:
            why = f"{and_more(self._unkept)}; the reports are written, the history lacks them"
            self._tally.fail(str(self._path), why)


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
