"""Step 0004: what version 0.1.0 kept of settings, under the names that they have now; nothing of it is new or gone.

``fixtures/history/0.1.0.sqlite`` was written by the code of that version: see ``tests/history/earlier.py``.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from auditor.core.report import finding_id
from auditor.core.state import AREAS, fields_of
from auditor.history import History
from auditor.history.schema import migrate, steps, version
from tests.compare.site import TODAY
from tests.history.earlier import BEFORE, BETWEEN, FOLDER, MENDED, UNSEEN, report_of, sites
from tests.history.made import at
from tests.history.test_store import rows

OLD_NAMES = ("untagged_vlan", "tagged_vlans", "voice_vlan")
FINDINGS = "SELECT id, key, device, setting, kind, expected, observed, consequence, effect, approved FROM finding"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(FOLDER / "0.1.0.sqlite", tmp_path / "history.sqlite"))


def whole_items(path: Path) -> Iterator[tuple[str, dict[str, object]]]:
    for area, *values in rows(path, "SELECT setting, expected, observed FROM finding"):
        for value in map(json.loads, values):
            if isinstance(value, dict) and area.count(".") == 1:
                yield area.partition(".")[0], value


def test_the_history_of_0_1_0_has_findings_of_every_area_field_and_kind(path: Path):
    assert rows(path, "PRAGMA user_version") == [(3,)]
    settings = [setting for (setting,) in rows(path, "SELECT setting FROM finding")]
    assert {setting.partition(".")[0] for setting in settings} == {*AREAS}
    assert {setting.rpartition(".")[2] for setting in settings} >= {
        *OLD_NAMES,
        *fields_of("ssids"),
        *fields_of("dhcp"),
    } - {"options"}
    for name in OLD_NAMES:
        kinds = {kind for (kind,) in rows(path, f"SELECT kind FROM finding WHERE setting LIKE 'ports.%.{name}'")}
        assert kinds == {"absent", "unplanned", "differs"}
    assert any(area == "ports" and {*OLD_NAMES} <= {*item} for area, item in whole_items(path))


def test_nothing_but_names_changes(path: Path):
    before = rows(path, FINDINGS)
    others = [rows(path, f"SELECT * FROM {table}") for table in ("run", "run_finding", "site", "plan", "device")]
    History.open(path).__exit__(None, None, None)
    assert rows(path, "PRAGMA user_version") == [(steps()[-1].number,)]
    assert [
        rows(path, f"SELECT * FROM {table}") for table in ("run", "run_finding", "site", "plan", "device")
    ] == others
    changed = 0
    for (row, key, device, setting, *rest), now in zip(before, rows(path, FINDINGS), strict=True):
        written = json.dumps([setting, *rest[1:3]])
        for old, new in zip(OLD_NAMES, ("untagged", "tagged", "voice"), strict=True):
            written = written.replace(old, new)
        name, expected, observed = json.loads(written)
        changed += name != setting
        assert (key, now[1]) == (finding_id(device, setting), finding_id(device, name))
        assert (now[0], now[2], now[3], now[4], *now[7:]) == (row, device, name, rest[0], *rest[3:])
        assert [json.loads(value) for value in now[5:7]] == [json.loads(expected), json.loads(observed)]
    assert changed > 10
    for area, item in whole_items(path):
        assert area != "ports" or not {*OLD_NAMES} & {*item}


def test_the_next_audit_says_that_all_is_unchanged(path: Path):
    with History.begin(path, at(TODAY)) as history:
        for name, site in sites().items():
            since = history.add(report_of(site, today=TODAY), at(TODAY)).since
            assert since, name
            course = "came back" if name == MENDED else "persists"
            assert since.findings, name
            assert {traced.course for traced in since.findings} == {course}, name
            assert {traced.since for traced in since.findings} == {TODAY if name == MENDED else BEFORE}, name
            assert {traced.before for traced in since.findings} == {BEFORE if name == MENDED else None}, name
            assert since.day == (BETWEEN if name in (UNSEEN, MENDED) else BEFORE)


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_a_kill_leaves_the_step_whole_or_not_there(path: Path):
    """Processes that kill themselves after more and more of SQLite's instructions, until one has taken the step."""
    before, (every, killed) = rows(path, FINDINGS), (200, 0)
    while version_of(copy := copied(path, killed)) == 3 and ended_by_kill(copy, every * (killed + 1)):
        with closing(sqlite3.connect(copy)) as connection:
            assert connection.execute("PRAGMA quick_check").fetchall() == [("ok",)]
            assert version(connection) == 3
        assert rows(copy, FINDINGS) == before
        killed += 1
    assert version_of(copy) == steps()[-1].number
    assert killed >= 10


def copied(path: Path, number: int) -> Path:
    return Path(shutil.copy(path, path.parent / f"{number}.sqlite"))


def version_of(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return version(connection)


def ended_by_kill(path: Path, instructions: int) -> bool:
    """Take the steps in a process that kills itself after so many instructions; return whether it did."""
    child = os.fork()
    if child == 0:
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.set_progress_handler(lambda: os.kill(os.getpid(), signal.SIGKILL), instructions)
            migrate(connection, steps())
        os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) == -signal.SIGKILL
