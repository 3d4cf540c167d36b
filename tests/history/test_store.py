"""What is kept, how little of it, that nothing secret is in it, and that two audits at once both are."""

from __future__ import annotations

import io
import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from auditor.core.report import Approval
from auditor.errors import HistoryError
from auditor.history import History
from auditor.history.schema import transaction
from auditor.reports.history import show_history
from tests.checks import HANGS
from tests.compare.site import MIXED, PASSPHRASES, TODAY, conforming, drifted
from tests.conftest import ROOT
from tests.history.made import at, day, found, report


def rows(path: Path, sql: str) -> list[tuple[Any, ...]]:
    """Return what the database itself says."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(sql).fetchall()


def begin(path: Path) -> History:
    return History.begin(path, at(day(0)))


def test_a_finding_that_persists_stores_its_texts_once(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    with begin(path) as history:
        for number in range(24):
            history.add(report(day(number), [found("vlans.10"), found("vlans.20")]), at(day(number)))
    assert rows(path, "SELECT count(*) FROM run") == [(24,)]
    assert rows(path, "SELECT count(*) FROM run_finding") == [(48,)]
    assert rows(path, "SELECT count(*) FROM finding") == [(2,)]
    assert rows(path, "SELECT count(*) FROM device") == [(3,)]
    assert rows(path, "SELECT count(*) FROM plan") == [(1,)]


def test_a_device_whose_capture_changed_is_kept_anew(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    with begin(path) as history:
        history.add(report(day(0)), at(day(0)))
        history.add(report(day(1), capture="c" * 64), at(day(1)))
        told = history.of("", "MLS-01")
    assert [run.devices[0].captures for run in told.runs] == [{"ap1.cfg": "c" * 64}, {"ap1.cfg": "b" * 64}]


def test_the_oldest_day_of_the_captures_is_kept_with_a_run(tmp_path: Path):
    known = {"gw1": day(1), "core1": day(0), "ap1": day(1)}
    with History.begin(tmp_path / "history.sqlite", at(day(1))) as history:
        for when, captured in ((day(1), known), (day(2), None), (day(3), {"gw1": day(3)})):
            history.add(report(when, captured=captured), at(when))
        told = history.of("Mill Lane Surgery", "MLS-01")
    assert [run.captured for run in told.runs] == [day(3), None, day(0)]
    stream = io.StringIO()
    show_history(told, Console(file=stream, highlight=False, soft_wrap=True, width=80))
    table = stream.getvalue().splitlines()[2:6]
    assert [line[18:30].strip() for line in table] == ["captures of", f"{day(3)}", "", f"{day(0)}"]


def test_all_of_a_finding_is_kept(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    approval = Approval(reason="until the refit", approved_by="owner", ticket="4711", until=date(2026, 3, 31))
    finding = found("ports.Gi1.tagged", expected="10,20", observed=None, kind="absent", approved=approval)
    with begin(path) as history:
        history.add(report(day(0), [finding]), at(day(0)))
        (line,) = history.overview(day(0), 35).sites
    columns = "key, device, setting, kind, expected, observed, consequence, effect, approved"
    (row,) = rows(path, f"SELECT {columns} FROM finding")
    kept = [finding.id, "core1", finding.setting, "absent", '"10,20"', "null", "outage", finding.effect]
    assert list(row[:-1]) == kept
    assert Approval.model_validate_json(row[-1]) == approval
    assert line.open == {"exposure": 0, "outage": 0, "upkeep": 0}


def test_the_clock_is_given_never_read(tmp_path: Path):
    when = at(date(1999, 12, 31))
    with begin(tmp_path / "history.sqlite") as history:
        history.add(report(date(1999, 12, 31)), when)
        (run,) = history.of("", "MLS-01").runs
    assert (run.day, run.at) == (date(1999, 12, 31), when)
    for path in (ROOT / "auditor" / "history").glob("*.py"):
        assert not any(call in path.read_text() for call in (".now(", ".today(", "time.time(", "utcnow(")), path


def test_no_secret_is_in_it(tmp_path: Path):
    """Planned and observed passphrases, a community and a password hash, where they differ from the plan."""
    path = tmp_path / "history.sqlite"
    clinic, mixed = conforming("quarry-road"), drifted(MIXED)
    secrets = ["an observed passphrase", *PASSPHRASES.values()]
    wireless = clinic.text("ap1/wireless")
    for old in set(PASSPHRASES.values()):
        wireless = wireless.replace(old, secrets[0])
    clinic = clinic.having("ap1/wireless", wireless)
    reports = [clinic.report(), mixed.report(), mixed.report(environment={})]
    assert any("passphrase" in finding.setting for one in reports for finding in one.findings)
    with begin(path) as history:
        for one in reports:
            history.add(one, at(TODAY))
        kept = path.read_bytes() + Path(f"{path}-wal").read_bytes()
    captured = b"\n".join([*clinic.files.values(), *mixed.files.values()]).decode(errors="replace")
    hidden = {word for word in captured.split() if word.startswith(("$1$", "$6$", "$9$", "$5$"))}
    assert len(kept) > 10_000
    for secret in {*secrets, *hidden}:
        assert secret.encode() not in kept


def test_a_run_that_cannot_be_written_leaves_nothing_and_says_so(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    with begin(path) as history:
        history.add(report(day(0)), at(day(0)))
        with closing(sqlite3.connect(path)) as other:
            other.execute("CREATE TRIGGER full BEFORE INSERT ON run_device BEGIN SELECT RAISE(ABORT, 'disk full'); END")
        with pytest.raises(HistoryError, match=r"history\.sqlite: the history cannot be used: disk full"):
            history.add(report(day(1), [found("vlans.10")]), at(day(1)))
        with closing(sqlite3.connect(path)) as other:
            other.execute("DROP TRIGGER full")
        assert len(history.of("", "MLS-01").runs) == 1
        history.add(report(day(2)), at(day(2)))
    assert rows(path, "SELECT count(*) FROM finding") == [(0,)]


ADDING = """
import sys
from pathlib import Path
from auditor.history import History
from tests.history.made import at, day, found, report
path, site = Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for number in range(40):
    with History.begin(path, at(day(0))) as history:
        findings = [found("vlans.10"), found(f"vlans.{number + 20}")]
        history.add(report(day(number // 2), findings, reference=site), at(day(0)))
"""


def at_once(path: Path, *sites: str) -> None:
    """Add 40 runs of each site, by a process a site, all from the same moment."""
    command = [sys.executable, "-W", "error", "-c", ADDING, str(path)]
    each = [
        subprocess.Popen([*command, site], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for site in sites
    ]
    for process in each:
        assert process.stdout
        assert process.stdout.readline() == "ready\n"
    for process in each:
        assert process.stdin
        process.stdin.write("go\n")
        process.stdin.flush()
    assert [process.communicate(timeout=HANGS) and process.returncode for process in each] == [0] * len(each)


@pytest.mark.slow
@pytest.mark.parametrize("sites", [("A-1", "B-2"), ("A-1", "A-1")], ids=["two sites", "the same site"])
def test_two_processes_add_runs_at_once_from_the_first_moment(tmp_path: Path, sites: tuple[str, str]):
    path = tmp_path / "made" / "history.sqlite"
    at_once(path, *sites)
    with History.open(path) as history:
        for site in set(sites):
            told = history.of("", site)
            assert len(told.runs) == 80 // len(set(sites))
            assert all(run.findings == 2 for run in told.runs)
    assert rows(path, "PRAGMA quick_check") == [("ok",)]
    assert {file.name for file in path.parent.iterdir()} == {"history.sqlite"}


@pytest.mark.slow
def test_two_processes_that_meet_a_damaged_one_set_it_aside_once(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    path.write_bytes(b"no database" * 1000)
    at_once(path, "A-1", "B-2")
    assert rows(path, "SELECT count(*) FROM run") == [(80,)]
    (aside,) = [file for file in tmp_path.iterdir() if "damaged" in file.name]
    assert aside.read_bytes() == b"no database" * 1000


def test_a_reader_does_not_wait_for_a_writer(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    with begin(path) as history:
        history.add(report(day(0)), at(day(0)))
        with closing(sqlite3.connect(path, isolation_level=None)) as other, transaction(other):
            other.execute("DELETE FROM run_device")
            with History.open(path) as reader:
                assert len(reader.of("", "MLS-01").runs[0].devices) == 3


def test_what_the_database_says_is_json_that_reads_back(tmp_path: Path):
    with begin(tmp_path / "history.sqlite") as history:
        history.add(report(day(0), [found("vlans.10")]), at(day(0)))
        history.add(report(day(1), [found("vlans.10")]), at(day(1)))
        told = history.of("Mill Lane Surgery", "MLS-01")
    assert type(told).model_validate_json(told.model_dump_json()) == told
    assert json.loads(told.model_dump_json())["format"] == "auditor-history/1"
