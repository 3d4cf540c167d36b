"""Audits in a loop, killed at random moments: ``python -m tests.history.killed DIR SEED COUNT``.

One process reads and imports everything once; each round forks a child that audits, keeps the run and writes the
reports until it is killed with SIGKILL. After each, everything that is there must be whole. Every twentieth round
begins with no history.
"""

from __future__ import annotations

import json
import mmap
import os
import random
import signal
import sqlite3
import sys
import time
import zipfile
from collections import Counter
from contextlib import closing
from pathlib import Path
from typing import NoReturn

from auditor.core.report import Report
from auditor.history import History
from auditor.reports import FORMATS
from auditor.reports.view import view_of
from auditor.reports.writing import write_atomically
from tests.compare.site import TODAY, Site, conforming, drifted
from tests.history.made import at

SITE = "quarry-road"
LONGEST = 0.1
"""Seconds; an audit with all that it writes takes less than half of it."""
PHASES = ("beginning", "auditing", "keeping", "writing")
_COUNTS = """
SELECT findings, (SELECT count(*) FROM run_finding WHERE run = run.id AND seen), planned,
  (SELECT count(*) FROM run_device WHERE run = run.id)
FROM run
"""


def main() -> None:
    """Kill and look, and print in how many rounds which phase was hit."""
    base, seed, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    sites = [conforming(SITE), drifted(SITE)]
    ready = [site.report() for site in sites]
    kept(ready[1], base / "warm", mmap.mmap(-1, 1))
    moments = random.Random(seed)
    hit: Counter[str] = Counter()
    runs = 0
    for number in range(count):
        folder = base / str(number // 20)
        if number % 20 == 0:
            runs = 0
        phase = mmap.mmap(-1, 1)
        child = os.fork()
        if child == 0:
            loop(sites if number % 2 else ready, folder, phase)
        time.sleep(moments.uniform(0, LONGEST))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.waitstatus_to_exitcode(status) == -signal.SIGKILL, "the child ended by itself"
        hit[PHASES[phase[0]]] += 1
        now = whole_runs(folder / "history.sqlite")
        assert now >= runs, "a run that was kept is gone"
        runs = now
        check_reports(folder / "out")
    sys.stdout.write(json.dumps(hit))


def loop(work: list[Site] | list[Report], folder: Path, phase: mmap.mmap) -> NoReturn:
    """Audit, or take reports that are ready, until somebody ends it; an error ends it otherwise, which is told of."""
    try:
        while True:
            for one in work:
                phase[0] = PHASES.index("auditing")
                kept(one.report() if isinstance(one, Site) else one, folder, phase)
    finally:
        os._exit(1)


def kept(report: Report, folder: Path, phase: mmap.mmap) -> None:
    """Keep the run and write the reports: what ``auditor audit`` does with a report."""
    phase[0] = PHASES.index("keeping")
    with History.begin(folder / "history.sqlite", at(TODAY)) as history:
        assert history.set_aside is None
        report = history.add(report, at(TODAY))
    phase[0] = PHASES.index("writing")
    view = view_of(report)
    for form in FORMATS:
        write_atomically(folder / "out" / form.file, form.render(view))


def whole_runs(path: Path) -> int:
    """Check that the history is sound and every run in it whole; return how many there are."""
    if not path.exists():
        return 0
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA quick_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'run_device'").fetchone():
            assert connection.execute("PRAGMA user_version").fetchone()[0] < 2
            return 0
        found = connection.execute(_COUNTS).fetchall()
    for findings, seen, planned, devices in found:
        assert (findings, planned, devices) == (seen, 242, 5)
        assert findings in (0, 8)
    return len(found)


def check_reports(out: Path) -> None:
    """Check that every report that is there is whole."""
    names = {form.file for form in FORMATS} | {"evidence.zip"}
    for file in out.iterdir() if out.is_dir() else ():
        if file.name not in names:
            continue  # what was being written: a name of its own, with a dot before it
        data = file.read_bytes()
        if file.suffix in (".xlsx", ".zip"):
            assert zipfile.ZipFile(file).testzip() is None
        elif file.suffix == ".pdf":
            assert data.rstrip().endswith(b"%%EOF")
        elif file.suffix in (".json", ".sarif"):
            json.loads(data)
        else:
            assert data.endswith(b"</html>\n" if file.suffix == ".html" else b"\n")


if __name__ == "__main__":
    main()
