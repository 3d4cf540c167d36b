"""The history: runs go in, one transaction each; a site's audits, or a line a site, come out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from auditor.core.changes import Since
from auditor.core.history import Overview, SiteHistory, SiteLine
from auditor.core.report import CONSEQUENCES, Report
from auditor.errors import HistoryError
from auditor.history import opening, rows
from auditor.history.lifecycle import lifecycles_of, since_of
from auditor.history.retention import DatedRun, dropped
from auditor.history.schema import one_moment, transaction

TREND = 12
"""How many of the last audits a trend is made of."""
_LINES = """
WITH ranked AS (
  SELECT *, row_number() OVER (PARTITION BY site ORDER BY id DESC) AS place FROM run
), last AS (
  SELECT site, max(complete) AS ever, coalesce(max(CASE WHEN complete THEN id END), min(id)) AS counted
  FROM run GROUP BY site
)
SELECT site.id, name, reference, day, occasion, verdict, complete, ever, exposure, outage, upkeep, approved,
  (SELECT coalesce(captured, day) FROM run WHERE run.id = counted),
  (SELECT count(*) FROM run_device JOIN device ON device.id = run_device.device
   WHERE run_device.run = ranked.id AND place = 1 AND outcome <> 'audited')
FROM ranked JOIN site ON site.id = ranked.site JOIN last ON last.site = ranked.site
WHERE place <= ? ORDER BY site.id, place
"""


class History:
    """The audits that were kept, in one file.

    Attributes:
        set_aside: where a damaged history was moved to when this one was opened.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, set_aside: Path | None = None) -> None:
        self._path = path
        self._connection = connection
        self.set_aside = set_aside

    @classmethod
    def begin(cls, path: Path, now: datetime, *, group: bool = False) -> Self:
        """Open a history to add runs to it; it is begun if there is none, and a damaged one is set aside.

        ``group``: whether the umask says who may read one that is begun, and not its owner alone.

        Raises:
            HistoryError: it cannot be opened or made.
            HistoryTooNew: a newer version wrote it.
        """
        connection, aside = opening.open_to_write(path, now, group=group)
        return cls(path, connection, aside)

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open a history that is there.

        Raises:
            HistoryError: there is none, it is damaged, or cannot be opened.
            HistoryTooNew: a newer version wrote it.
        """
        return cls(path, opening.open_to_read(path))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._connection.close()

    def add(self, report: Report, at: datetime) -> Report:
        """Keep a run, and return its report with what came and went since the run before.

        Args:
            report: the audit.
            at: day and time it is kept at, with the offset of the place.

        Raises:
            HistoryError: it cannot be written; then nothing of it was.
        """
        with self._errors(), transaction(self._connection):
            since = self._insert(report, at)
        return report.model_copy(update={"since": since})

    def _insert(self, report: Report, at: datetime) -> Since | None:
        db = self._connection
        known = rows.site_row(db, rows.site_key(report.site, report.reference))
        (before,) = db.execute("SELECT max(id) FROM run WHERE site = ?", (known,)).fetchone()
        earlier = rows.traces_of(db, before) if before else None
        lifecycles = lifecycles_of(
            report, earlier.lifecycles if earlier else {}, lambda keys: rows.last_seen(db, known, keys)
        )
        site, run = rows.insert_run(db, report, at, sum(lifecycle.seen for lifecycle in lifecycles))
        rows.insert_lifecycles(db, run, lifecycles, report)
        rows.insert_devices(db, run, report, before)
        since = since_of(rows.traces_of(db, run), earlier) if earlier else None
        self._let_go(site, report.audited_on)
        return since

    def _let_go(self, site: int, today: date) -> None:
        found = self._connection.execute("SELECT id, day, occasion FROM run WHERE site = ? ORDER BY id", (site,))
        runs = [DatedRun(run, date.fromordinal(day), occasion) for run, day, occasion in found]
        if old := dropped(runs, today):
            rows.delete_runs(self._connection, old)

    def of(self, site: str, reference: str) -> SiteHistory:
        """Return a site's audits, the newest first, and what came and went between the last two.

        Raises:
            HistoryError: the history cannot be read.
        """
        db = self._connection
        with self._errors(), one_moment(db):
            found = db.execute(rows.RUNS_OF_SITE, (rows.site_row(db, rows.site_key(site, reference)),)).fetchall()
            runs = [rows.run_of(row, [device for _, device in rows.devices_of(db, row[0])]) for row in found]
            since = None
            if len(found) > 1:
                since = since_of(rows.traces_of(db, found[-1][0]), rows.traces_of(db, found[-2][0]))
        return SiteHistory(site=site, reference=reference, runs=runs[::-1], since=since)

    def overview(self, today: date, overdue_after: int) -> Overview:
        """Return a line a site, the ones that need somebody first.

        Args:
            today: the day it is for.
            overdue_after: how many days after the oldest capture of its last complete audit a site is overdue.

        Raises:
            HistoryError: the history cannot be read.
        """
        with self._errors():
            found = self._connection.execute(_LINES, (TREND,)).fetchall()
        sites: dict[int, list[tuple[object, ...]]] = {}
        for site, *values in found:
            sites.setdefault(site, []).append(tuple(values))
        lines = [_line(runs, today, overdue_after) for runs in sites.values()]
        return Overview(today=today, overdue_after=overdue_after, sites=sorted(lines, key=_urgency))

    @contextmanager
    def _errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            told = "it is damaged: " if opening.damage(error) else ""
            raise HistoryError(f"{self._path}: the history cannot be used: {told}{error}") from error


def _line(runs: list[tuple[object, ...]], today: date, overdue_after: int) -> SiteLine:
    """Return a site's line from its last runs, the newest first."""
    name, reference, day, occasion, verdict, complete, ever, *counts, approved, captured, unread = runs[0]
    assert isinstance(day, int)
    assert isinstance(captured, int)
    days = today.toordinal() - captured
    return SiteLine.model_validate(
        {
            "site": name,
            "reference": reference,
            "verdict": verdict,
            "occasion": occasion,
            "day": date.fromordinal(day),
            "open": dict(zip(CONSEQUENCES, counts, strict=True)),
            "approved": approved,
            "trend": [sum(int(str(count)) for count in run[7:10]) for run in reversed(runs)],
            "captured": date.fromordinal(captured),
            "days": days,
            "overdue": days > overdue_after,
            "unread": unread,
            "complete": complete,
            "ever_complete": ever,
        }
    )


def _urgency(line: SiteLine) -> tuple[object, ...]:
    opened = line.open
    return (
        -opened["exposure"],
        -opened["outage"],
        line.complete,
        -opened["upkeep"],
        not line.overdue,
        -line.days,
        line.site,
    )
