"""All sites on one page: what ``auditor overview`` does, as one call."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from auditor.app.keeping import the_history
from auditor.core.history import Overview
from auditor.history import History
from auditor.reports.overview import overview_files
from auditor.reports.writing import write_files


def write_overview(
    out: str | Path,
    *,
    overdue_after: int = 40,
    history: str | Path | None = None,
    group: bool = False,
    today: date | None = None,
) -> Overview:
    """Write all sites on one page, and return what it says: what ``auditor overview`` does.

    Args:
        out: the folder of the page.
        overdue_after: how many days after the oldest capture of its last complete audit a site is overdue.
        history: where audits are kept; the environment's or the user's own if unsaid.
        group: whether the umask says who may read it, and not its owner alone.
        today: the day it is for; the calendar's if unsaid.

    Raises:
        HistoryError: there is no history, or it cannot be read.
        ReportError: the page cannot be written.
    """
    with History.open(the_history(history)) as kept:
        found = kept.overview(today or date.today(), overdue_after)  # noqa: DTZ011 - the day where it is asked for
    write_files(Path(out), overview_files(found), group=group)
    return found
