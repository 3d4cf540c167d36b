"""Opening: a new file, an older one, a newer one, a damaged one, and one that is something else."""

from __future__ import annotations

import os
import random
import re
import sqlite3
import stat
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from auditor.errors import HistoryError, HistoryTooNew
from auditor.history import History, history_file
from auditor.history.schema import APPLICATION, Step, migrate, steps, transaction, version
from tests.conftest import ROOT
from tests.history.made import at, day, found, report
from tests.history.test_store import rows

NOW = datetime(2026, 11, 25, 6, 30, 5, tzinfo=UTC)
STAMP = "2026-11-25-063005"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "history.sqlite"


def filled(path: Path) -> Path:
    """Return a history with a few runs, as one file."""
    with History.begin(path, NOW) as history:
        for number in range(12):
            history.add(report(day(number), [found(f"vlans.{vlan}") for vlan in range(10, 60)]), at(day(number)))
    return path


def test_the_file_is_for_its_owner_alone_whatever_the_umask(path: Path):
    before = os.umask(0)
    try:
        with History.begin(path.parent / "new" / "history.sqlite", NOW) as history:
            history.add(report(), at(day(0)))
            files = sorted((path.parent / "new").iterdir())
            assert [file.name for file in files] == ["history.sqlite", "history.sqlite-shm", "history.sqlite-wal"]
            assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
            assert stat.S_IMODE((path.parent / "new").stat().st_mode) == 0o700
    finally:
        os.umask(before)


def test_it_is_written_ahead_and_knows_its_steps(path: Path):
    filled(path)
    assert rows(path, "PRAGMA journal_mode") == [("wal",)]
    assert rows(path, "PRAGMA user_version") == [(steps()[-1].number,)]
    assert rows(path, "PRAGMA application_id") == [(APPLICATION,)]


def test_steps_are_numbered_without_a_gap():
    assert [step.number for step in steps()] == list(range(1, len(steps()) + 1))
    names = sorted(file.name for file in (ROOT / "auditor" / "history" / "steps").iterdir())
    assert all(re.fullmatch(r"\d{4}_[a-z_]+\.sql", name) for name in names)


@pytest.mark.parametrize("taken", range(1, len(steps())))
def test_an_older_database_is_brought_up_to_date_and_keeps_its_runs(path: Path, taken: int):
    with closing(sqlite3.connect(path, isolation_level=None)) as old:
        migrate(old, steps()[:taken])
        assert version(old) == taken
        old.execute("INSERT INTO site VALUES (1, 'MLS-01', 'Mill Lane Surgery', 'MLS-01')")
        old.execute("INSERT INTO plan VALUES (1, x'aa', 'plan.yaml')")
        figures = "1, 738000, '2021-07-25T06:00:00+00:00', 'routine', 'nonconforming', 1, 1, 'auditor 0.1.0'"
        columns = [name for _, name, *_ in old.execute("PRAGMA table_info(run)")][:19]  # a later one may be NULL
        old.execute(f"INSERT INTO run ({', '.join(columns)}) VALUES (1, {figures}, 40, 39, 1, 0, 0, 0, 1, 0, 1, 0)")
        finding = found("vlans.10")
        values = (finding.id, "core1", "vlans.10", "differs", "10", "20", "outage", finding.effect, "null")
        old.execute("INSERT INTO finding VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?)", values)
        old.execute("INSERT INTO run_finding VALUES (1, 1, 1, 738000, NULL)")
    with History.begin(path, NOW) as history:
        since = history.add(report(day(0), [found("vlans.10")]), at(day(0))).since
        assert len(history.of("", "MLS-01").runs) == 2
        assert len(history.overview(day(0), 35).sites) == 1
    assert since
    assert [(traced.course, traced.since.toordinal()) for traced in since.findings] == [("persists", 738000)]


def shape(path: Path) -> list[tuple[str, ...]]:
    return rows(path, "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' ORDER BY name")


def test_step_by_step_gives_the_same_shape_as_all_at_once(path: Path):
    with closing(sqlite3.connect(path, isolation_level=None)) as one:
        for number in range(len(steps())):
            migrate(one, steps()[: number + 1])
            migrate(one, steps()[: number + 1])
    assert shape(path) == shape(filled(path.parent / "other.sqlite"))


def test_a_step_that_fails_is_not_taken_at_all(path: Path):
    broken = Step(len(steps()) + 1, "CREATE TABLE half (x);\nINSERT INTO nowhere VALUES (1);\n")
    filled(path)
    before = shape(path)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        with pytest.raises(sqlite3.OperationalError, match="nowhere"):
            migrate(connection, (*steps(), broken))
        assert version(connection) == steps()[-1].number
        migrate(connection, (*steps(), replace(broken, sql="CREATE TABLE half (x);")))
        assert version(connection) == broken.number
    assert len(shape(path)) == len(before) + 1


def test_a_newer_database_is_refused_and_left_as_it_is(path: Path):
    filled(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    for use in (lambda: History.begin(path, NOW), lambda: History.open(path)):
        with pytest.raises(
            HistoryTooNew, match=r"history\.sqlite: .* newer version of auditor \(step 99, this one knows"
        ):
            use()
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_a_database_of_something_else_is_refused_and_left_as_it_is(path: Path):
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("CREATE TABLE invoice (x)")
    before = path.read_bytes()
    with pytest.raises(HistoryError, match="database of something else"):
        History.begin(path, NOW)
    assert path.read_bytes() == before


def damaged(path: Path, kind: str) -> bytes:
    """Damage a history; the header stays whole unless it is what is damaged."""
    data = bytearray(filled(path).read_bytes())
    if kind == "text":
        data = bytearray(b"these are notes of somebody, and no database at all\n" * 40)
    elif kind == "header":
        data[:16] = b"\0" * 16
    elif kind == "pages":
        spoilt = random.Random(4)  # the same every time
        for at_byte in range(4096, len(data), 97):
            data[at_byte] = spoilt.randrange(256)
    elif kind == "cut":
        del data[len(data) // 2 :]
    path.write_bytes(data)
    return bytes(data)


@pytest.mark.parametrize("kind", ["text", "header", "pages", "cut"])
def test_a_damaged_one_is_set_aside_as_it_is_and_a_new_one_begun(path: Path, kind: str):
    data = damaged(path, kind)
    with History.begin(path, NOW) as history:
        aside = history.set_aside
        history.add(report(), at(day(0)))
        assert len(history.of("", "MLS-01").runs) == 1
    assert aside == path.parent / f"history.sqlite.damaged-{STAMP}"
    assert aside.read_bytes() == data
    with History.begin(path, NOW) as history:
        assert history.set_aside is None


def test_no_damaged_one_is_ever_written_over(path: Path):
    found_data = []
    for _ in range(3):
        path.write_bytes(os.urandom(5000))
        found_data.append(path.read_bytes())
        with History.begin(path, NOW) as history:
            assert history.set_aside
    kept = [file for file in path.parent.iterdir() if "damaged" in file.name]
    assert sorted(file.read_bytes() for file in kept) == sorted(found_data)
    assert {file.name for file in kept} == {f"history.sqlite.damaged-{STAMP}{more}" for more in ("", "-2", "-3")}


def test_who_only_reads_moves_nothing(path: Path):
    data = damaged(path, "text")
    with pytest.raises(HistoryError, match=r"the history is damaged .* the next audit sets it aside"):
        History.open(path)
    assert path.read_bytes() == data
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_a_database_that_is_locked_is_not_damaged(path: Path, monkeypatch: pytest.MonkeyPatch):
    filled(path)
    monkeypatch.setattr("auditor.history.opening.BUSY_SECONDS", 0.1)
    with (
        closing(sqlite3.connect(path, isolation_level=None)) as other,
        History.begin(path, NOW) as history,
        transaction(other),
        pytest.raises(HistoryError, match="database is locked"),
    ):
        history.add(report(day(20)), at(day(20)))
    assert len(rows(path, "SELECT 1 FROM run")) == 12


def test_none_there_is_an_error_for_who_reads(path: Path):
    with pytest.raises(HistoryError, match="no audits are kept there"):
        History.open(path)
    assert not path.exists()


@pytest.mark.parametrize("where", ["file/history.sqlite", "folder"])
def test_a_place_where_nothing_can_be_kept_says_what_to_do(tmp_path: Path, where: str):
    (tmp_path / "file").write_text("")
    (tmp_path / "folder").mkdir()
    with pytest.raises(HistoryError, match=r"no history can be kept there: .*--history.*--no-history"):
        History.begin(tmp_path / where, NOW)


@pytest.mark.parametrize(
    ("environment", "windows", "place"),
    [
        ({"AUDITOR_HISTORY": "/srv/history.sqlite"}, False, "/srv/history.sqlite"),
        ({"AUDITOR_HISTORY": ""}, False, "/home/otto/.local/share/auditor/history.sqlite"),
        ({}, False, "/home/otto/.local/share/auditor/history.sqlite"),
        ({"XDG_DATA_HOME": "/data"}, False, "/data/auditor/history.sqlite"),
        # XDG Base Directory Specification 0.8: relative paths are invalid and to be ignored
        ({"XDG_DATA_HOME": "data"}, False, "/home/otto/.local/share/auditor/history.sqlite"),
        ({"LOCALAPPDATA": "/local"}, True, "/local/auditor/history.sqlite"),
        ({}, True, "/home/otto/AppData/Local/auditor/history.sqlite"),
    ],
)
def test_where_it_is_kept(environment: dict[str, str], windows: bool, place: str):
    assert history_file(environment, Path("/home/otto"), windows=windows) == Path(place)
