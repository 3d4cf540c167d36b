"""The history as calls use it: where it is, the runs of a round kept in it and a site's audits."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Self

from auditor.app.tally import Tally, and_more
from auditor.core.history import SiteHistory
from auditor.core.report import Report
from auditor.errors import HistoryError
from auditor.history import History, history_file
from auditor.plan.loader import load
from auditor.unforeseen import Unforeseen, attempt


def the_history(named: str | Path | None) -> Path:
    """Return the file that audits are kept in: the one that is named, the environment's, or the user's own."""
    return Path(named) if named else history_file(os.environ, Path.home())


def site_history(plan: str | Path, *, history: str | Path | None = None) -> SiteHistory:
    """Return the audits of a site that were kept, and what came and went: what ``auditor history`` shows.

    Args:
        plan: the site's plan file.
        history: where audits are kept; the environment's or the user's own if unsaid.

    Raises:
        PlanError: the plan cannot be used.
        HistoryError: there is no history, or it cannot be read.
    """
    data = load(plan).data
    with History.open(the_history(history)) as kept:
        return kept.of(data.site, data.reference)


class Keeper:
    """Keeps the runs of a round. A history that cannot be used costs no audit and no report: it is told of."""

    def __init__(self, named: str | Path | None, tally: Tally, *, none: bool, group: bool = False) -> None:
        self._history: History | None = None
        self._path = Path()
        self._tally = tally
        self._unkept: list[str] = []
        self._sites: set[str] = set()
        if none:
            return
        self._path = the_history(named)
        self._history = tally.attempt(str(self._path), lambda: History.begin(self._path, _now(), group=group))
        if self._history and (aside := self._history.set_aside):
            tally.tell(f"{self._path} was damaged: it was set aside as {aside}, and a new history begun")

    def __enter__(self) -> Self:
        return self

    def keep(self, report: Report) -> Report:
        """Keep a run, and return its report with what came and went."""
        history = self._history
        if history is None:
            return report
        site = report.reference or report.site
        if site in self._sites:
            self._tally.tell(f"{site!r} is the reference of several plans: their audits are kept as one site's")
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
