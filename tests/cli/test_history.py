"""``audit`` keeps its runs, ``history`` and ``overview`` tell of them."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from tests.cli.test_commands import BAKERY, QUARRY, auditor

PLAN = QUARRY / "plan.yaml"
CONFORMING, DRIFTED = QUARRY / "conforming", QUARRY / "drifted"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "history.sqlite"


def test_an_audit_says_what_came_and_went_since_the_one_before(path: Path, tmp_path: Path):
    first = auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    second = auditor("audit", PLAN, "--captures", DRIFTED, "--history", path, "--out", tmp_path / "out")
    third = auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    assert (first.returncode, second.returncode, third.returncode) == (0, 1, 0)
    assert "Since the audit of" not in first.stdout
    assert ": 8 new\n" in second.stdout
    assert ": 8 gone\n" in third.stdout
    told = json.loads((tmp_path / "out" / "report.json").read_text())
    assert {traced["course"] for traced in told["since"]["findings"]} == {"new"}
    assert {traced["id"] for traced in told["since"]["findings"]} == {finding["id"] for finding in told["findings"]}


def test_history_for_people_and_for_machines(path: Path):
    for captures in (DRIFTED, CONFORMING, DRIFTED):
        auditor("audit", PLAN, "--captures", captures, "--history", path)
    plain = auditor("history", PLAN, "--history", path)
    machine = auditor("history", PLAN, "--history", path, "--json")
    assert (plain.returncode, machine.returncode, plain.stderr, machine.stderr) == (0, 0, "", "")
    assert "Quarry Road Veterinary Clinic (QRC-01) · 3 audits are kept" in plain.stdout
    assert ": 8 came back\n" in plain.stdout
    told = json.loads(machine.stdout)
    assert told["format"] == "auditor-history/1"
    assert [run["verdict"] for run in told["runs"]] == ["nonconforming", "conforming", "nonconforming"]
    assert told["runs"][0]["open"] == {"exposure": 3, "outage": 2, "upkeep": 2}
    assert [device["name"] for device in told["runs"][0]["devices"]] == ["access1", "ap1", "ap2", "core1", "gw1"]
    assert {traced["course"] for traced in told["since"]["findings"]} == {"came back"}


def test_a_site_that_was_never_audited_has_no_history(path: Path):
    auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    run = auditor("history", BAKERY / "plan.yaml", "--history", path)
    assert (run.returncode, "no audit of it is kept" in run.stdout) == (0, True)


def test_the_environment_says_where_it_is_kept_and_the_option_wins(path: Path, tmp_path: Path):
    auditor("audit", PLAN, "--captures", CONFORMING, AUDITOR_HISTORY=str(path))
    assert path.is_file()
    other = tmp_path / "other.sqlite"
    auditor("audit", PLAN, "--captures", CONFORMING, "--history", other, AUDITOR_HISTORY=str(path))
    assert other.is_file()
    assert "1 audit is kept" in auditor("history", PLAN, AUDITOR_HISTORY=str(path)).stdout


def test_without_a_word_it_is_in_the_data_directory_of_the_user(tmp_path: Path):
    auditor("audit", PLAN, "--captures", CONFORMING, AUDITOR_HISTORY="", XDG_DATA_HOME=str(tmp_path))
    assert (tmp_path / "auditor" / "history.sqlite").is_file()


def test_nothing_is_kept_where_nobody_wants_it_and_nothing_of_the_demo(path: Path):
    assert auditor("audit", PLAN, "--captures", DRIFTED, "--no-history", AUDITOR_HISTORY=str(path)).returncode == 1
    assert auditor("demo", AUDITOR_HISTORY=str(path)).returncode == 1
    assert not path.parent.exists()


@pytest.mark.parametrize("captures", [CONFORMING, "nowhere"])
def test_a_plan_that_is_wrong_and_a_folder_that_is_not_there_leave_nothing(path: Path, tmp_path: Path, captures: Path):
    (tmp_path / "wrong.yaml").write_text("format: 2\nsite: x\n")
    plans = [tmp_path / "wrong.yaml"] if captures == CONFORMING else [PLAN]
    run = auditor("audit", *plans, "--captures", captures, "--history", path)
    assert (run.returncode, path.exists()) == (2, False)


def test_several_sites_have_a_run_each_and_a_line_on_the_page(path: Path, tmp_path: Path):
    for name, folder, captures in (("clinic", QUARRY, "drifted"), ("bakery", BAKERY, "conforming")):
        shutil.copy(folder / "plan.yaml", tmp_path / f"{name}.yaml")
        shutil.copytree(folder / captures, tmp_path / "captures" / name)
    plans = [tmp_path / "clinic.yaml", tmp_path / "bakery.yaml"]
    today = date.today()  # noqa: DTZ011 - what the command line calls today
    dated = ("--max-age", "none", "--captured-on", today)
    assert auditor("audit", *plans, "--captures", tmp_path / "captures", "--history", path, *dated).returncode == 1
    run = auditor("overview", "--out", tmp_path / "page", "--history", path)
    assert (run.returncode, run.stdout, run.stderr) == (0, "2 sites: 1 nonconforming, 1 conforming.\n", "")
    assert {file.name for file in (tmp_path / "page").iterdir()} == {"overview.html", "overview.json"}
    told = json.loads((tmp_path / "page" / "overview.json").read_text())
    assert [line["verdict"] for line in told["sites"]] == ["nonconforming", "conforming"]
    assert [line["overdue"] for line in told["sites"]] == [False, False]


def test_two_plans_with_one_reference_are_refused_before_anything_is_done(path: Path, tmp_path: Path):
    for name in ("one", "two"):
        shutil.copy(PLAN, tmp_path / f"{name}.yaml")
        shutil.copytree(CONFORMING, tmp_path / name)
    plans = [tmp_path / "one.yaml", tmp_path / "two.yaml"]
    run = auditor("audit", *plans, "--captures", tmp_path, "--history", path, "--quiet")
    assert (run.returncode, run.stdout, path.exists()) == (2, "", False)
    assert run.stderr == (
        f"auditor: {plans[0]} and {plans[1]} have the same reference QRC-01: give each site one of its own\n"
    )


@pytest.mark.parametrize("command", [["history", PLAN], ["overview", "--out", "nowhere"]])
def test_where_nothing_is_kept_yet_it_says_so(command: list[object], path: Path):
    run = auditor(*command, "--history", path)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr == f"auditor: {path}: no audits are kept there; 'auditor audit' begins a history\n"


def test_a_newer_history_is_left_as_it_is_and_costs_no_report(path: Path, tmp_path: Path):
    auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    run = auditor("audit", PLAN, "--captures", CONFORMING, "--history", path, "--out", tmp_path / "out")
    assert (run.returncode, path.read_bytes()) == (2, before)
    assert "newer version of auditor" in run.stderr
    assert json.loads((tmp_path / "out" / "report.json").read_text())["verdict"] == "conforming"


def test_a_damaged_history_is_set_aside_and_said_so_even_when_quiet(path: Path):
    path.parent.mkdir()
    path.write_bytes(b"no database" * 100)
    run = auditor("audit", PLAN, "--captures", CONFORMING, "--history", path, "--quiet")
    (aside,) = path.parent.glob("history.sqlite.damaged-*")
    assert (run.returncode, run.stdout) == (0, "")
    assert run.stderr == f"auditor: {path} was damaged: it was set aside as {aside}, and a new history begun\n"
    assert aside.read_bytes() == b"no database" * 100


def test_a_run_that_cannot_be_kept_does_not_cost_its_report(path: Path, tmp_path: Path):
    auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TRIGGER full BEFORE INSERT ON run BEGIN SELECT RAISE(ABORT, 'disk full'); END")
    run = auditor("audit", PLAN, "--captures", DRIFTED, "--history", path, "--out", tmp_path / "out")
    assert run.returncode == 2
    assert "disk full; the reports are written, the history lacks them" in run.stderr
    assert json.loads((tmp_path / "out" / "report.json").read_text())["verdict"] == "nonconforming"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_place_that_cannot_be_written_says_what_to_do(path: Path):
    path.parent.mkdir(mode=0o500)
    run = auditor("audit", PLAN, "--captures", CONFORMING, "--history", path)
    assert run.returncode == 2
    assert "--no-history" in run.stderr
