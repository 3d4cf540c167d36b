"""Two years of monthly audits of 50 and of 500 sites: ``python tests/bench/history.py``.

Synthetic reports: five devices a site, of whose captures half change from month to month; five findings open on the
average, out of 200 that there can be; a finding lasts five months on the average. Times of adding a run, of a site's
history and of the overview, and the file's size, each beside the yardstick of the same run: plain SQLite rows, one
table, every finding and device of every run with all its texts, one transaction a run.
"""

from __future__ import annotations

import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from auditor.core.history import Overview
from auditor.core.report import Finding, Report
from auditor.history import History
from auditor.reports.overview import overview_files
from tests.history.made import at, day, found, report

MONTHS, POOL, OPEN, STAYS = 24, 200, 5, 0.8
DEVICES = ("gw1", "core1", "access1", "ap1", "ap2")
TEXT = "terminals in guest at the far end of the first floor get no address, and nobody there reaches the gateway"
CONSEQUENCES = ("exposure", "outage", "upkeep")


@dataclass
class Figures:
    """What was measured: milliseconds, and bytes."""

    add: float
    plain_add: float
    history: float
    overview: float
    page: float
    size: int
    plain_size: int
    plain_read: float


def main() -> None:
    """Measure and print."""
    few, many = (measured(count) for count in (50, 500))
    print(f"{MONTHS} monthly audits a site, {OPEN} findings open on the average; milliseconds, KiB")
    print(f"{'':46}{'50 sites':>10}{'500 sites':>10}{'ratio':>8}{'x yardstick, 500':>18}")
    line("add a run, median", few.add, many.add, many.plain_add)
    line("  yardstick: the same as plain rows", few.plain_add, many.plain_add, many.plain_add)
    line("history of a site, open and read, median", few.history, many.history, many.plain_read)
    line("overview: open and read", few.overview, many.overview, many.plain_read)
    line("overview: draw the page", few.page, many.page, many.plain_read)
    line("  yardstick: read all plain rows", few.plain_read, many.plain_read, many.plain_read)
    line("file", few.size / 1024, many.size / 1024, many.plain_size / 1024)
    line("  yardstick: file of plain rows", few.plain_size / 1024, many.plain_size / 1024, many.plain_size / 1024)


def line(name: str, few: float, many: float, yardstick: float) -> None:
    """Print a line: both figures, how one grows to the other, and the larger beside its yardstick."""
    print(f"{name:46}{few:10.2f}{many:10.2f}{many / few:8.1f}{many / yardstick:18.2f}")


def measured(sites: int) -> Figures:
    """Keep all audits of some sites, and ask for them."""
    reports = list(years(sites))
    today = day(MONTHS)
    with tempfile.TemporaryDirectory() as name:
        path, plain = Path(name) / "history.sqlite", Path(name) / "plain.sqlite"
        with History.begin(path, at(today)) as history:
            adding = [timed(partial(history.add, one, at(one.audited_on))) for one in reports]
        with closing(begun(plain)) as connection:
            inserting = [timed(partial(insert, connection, one)) for one in reports]
            reading = timed(lambda: connection.execute("SELECT * FROM plain").fetchall())
        asking = [timed(partial(history_of, path, site)) for site in range(0, sites, sites // 10)]
        overview_time = min(timed(partial(overview_of, path, today)) for _ in range(3))
        overview = overview_of(path, today)
        return Figures(
            add=statistics.median(adding),
            plain_add=statistics.median(inserting),
            history=statistics.median(asking),
            overview=overview_time,
            page=min(timed(partial(overview_files, overview)) for _ in range(3)),
            size=path.stat().st_size,
            plain_size=plain.stat().st_size,
            plain_read=reading,
        )


def timed(work: Callable[[], object]) -> float:
    """Return the milliseconds that a piece of work takes."""
    begin = time.perf_counter()
    work()
    return (time.perf_counter() - begin) * 1000


def history_of(path: Path, site: int) -> object:
    """Open the history and ask for a site's."""
    with History.open(path) as history:
        found_history = history.of(f"Site {site}", "")
    assert len(found_history.runs) == MONTHS
    return found_history


def overview_of(path: Path, today: date) -> Overview:
    """Open the history and ask for all sites."""
    with History.open(path) as history:
        return history.overview(today, 35)


def years(sites: int) -> Iterator[Report]:
    """Make the audits, month by month."""
    chance = random.Random(20261125)
    pool = [finding(number) for number in range(POOL)]
    there = [set(chance.sample(range(POOL), OPEN)) for _ in range(sites)]
    captures = [f"{chance.getrandbits(256):064x}" for _ in range(sites)]
    for month in range(MONTHS):
        for site in range(sites):
            kept = {number for number in there[site] if chance.random() < STAYS}
            arrivals = sum(chance.random() < 1 - STAYS for _ in range(OPEN))
            there[site] = kept | set(chance.sample(range(POOL), arrivals))
            if chance.random() < 0.5:
                captures[site] = f"{chance.getrandbits(256):064x}"
            yield report(
                day(month),
                [pool[number] for number in sorted(there[site])],
                site=f"Site {site}",
                reference="",
                devices=DEVICES,
                plan=f"{site:064x}",
                capture=captures[site],
            )


def finding(number: int) -> Finding:
    """Return one of the findings that there can be."""
    return found(
        f"ports.GigabitEthernet1/0/{number}.untagged",
        DEVICES[number % len(DEVICES)],
        effect=f"{TEXT} ({number})",
        consequence=CONSEQUENCES[number % 3],
    )


def begun(path: Path) -> sqlite3.Connection:
    """Return a database of one plain table, written ahead as the history is."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("CREATE TABLE plain (a, b, c, d, e, f, g, h, i, j)")
    return connection


def insert(connection: sqlite3.Connection, one: Report) -> None:
    """Insert a run as plain rows."""
    run = (one.site, one.audited_on.isoformat())
    rows = [(*run, one.verdict, one.occasion, one.plan.sha256, one.tool, *one.counts.model_dump().values())[:10]]
    rows += [
        (*run, d.name, d.outcome, d.verdict, d.captures[0].file, d.captures[0].sha256, 1, "", "") for d in one.devices
    ]
    rows += [
        (*run, f.id, f.device, f.setting, f.kind, f.expected, f.observed, f.consequence, f.effect) for f in one.findings
    ]
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany("INSERT INTO plain VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
    connection.execute("COMMIT")


if __name__ == "__main__":
    main()
