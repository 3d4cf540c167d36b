"""``audit`` and the day of captures: what it is known by, how old it may be; the demo, its evidence, and ``read``."""

from __future__ import annotations

import json
import os
import re
import shutil
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor.app import auditing, demo
from auditor.app import reading as reading_call
from auditor.app.demo import PASSPHRASES
from auditor.cli import age, cli, read
from auditor.core.report import MAX_AGES
from tests.compare.site import NETWORKS

pytestmark = pytest.mark.slow

QUARRY = NETWORKS / "quarry-road"
TODAY = date(2026, 11, 25)


class Calendar(date):
    """The calendar that the command line looks at: always the same day."""

    @classmethod
    def today(cls) -> Calendar:
        return cls(TODAY.year, TODAY.month, TODAY.day)


@pytest.fixture(autouse=True)
def _a_day_that_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (auditing, age, demo, read, reading_call):
        monkeypatch.setattr(module, "date", Calendar)


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def run(*arguments: object) -> tuple[int, str]:
    found = CliRunner(env=PASSPHRASES).invoke(cli, [*map(str, arguments)], standalone_mode=False)
    return (found.return_value if found.exception is None else 2), found.output + str(found.exception or "")


def audited(captures: Path, out: Path, *options: object) -> tuple[int, dict[str, dict[str, object]]]:
    """Audit the clinic, and return the exit code and what report.json says of each device."""
    code, output = run("audit", QUARRY / "plan.yaml", "--captures", captures, "--no-history", "--out", out, *options)
    assert code in (0, 1, 3), output
    told = json.loads((out / "report.json").read_text())
    return code, {device["name"]: device for device in told["devices"]}


@pytest.fixture
def captures(tmp_path: Path) -> Path:
    """Conforming captures whose files are of today."""
    folder = Path(shutil.copytree(QUARRY / "conforming", tmp_path / "captures"))
    of(folder, TODAY)
    return folder


def of(folder: Path, day: date) -> None:
    """Give all files below a folder the time of noon of a day."""
    noon = datetime(day.year, day.month, day.day, 12).astimezone().timestamp()
    for path in folder.rglob("*"):
        os.utime(path, (noon, noon))


def test_files_of_today_will_do_for_a_routine_audit_and_for_no_acceptance(captures: Path, tmp_path: Path):
    code, devices = audited(captures, tmp_path / "out")
    assert (code, {str(device["captured"]) for device in devices.values()}) == (
        0, {str({"on": f"{TODAY}", "by": "file"})}
    )  # fmt: skip
    code, devices = audited(captures, tmp_path / "out", "--occasion", "acceptance")
    assert code == 3
    assert all("--captured-on" in str(device["incomplete"]) for device in devices.values())
    code, devices = audited(captures, tmp_path / "out", "--occasion", "acceptance", "--captured-on", ago(2))
    assert (code, devices["core1"]["captured"]) == (0, {"on": f"{ago(2)}", "by": "stated"})


@pytest.mark.parametrize(("occasion", "limit"), MAX_AGES.items())
def test_older_captures_make_an_audit_incomplete(occasion: str, limit: int, captures: Path, tmp_path: Path):
    options = ("--occasion", occasion, "--captured-on")
    assert audited(captures, tmp_path / "out", *options, ago(limit))[0] == 0
    code, devices = audited(captures, tmp_path / "out", *options, ago(limit + 1))
    assert code == 3
    assert f"the limit is {limit} day" in str(devices["core1"]["incomplete"])
    assert audited(captures, tmp_path / "out", *options, ago(limit + 1), "--max-age", limit + 1)[0] == 0
    assert audited(captures, tmp_path / "out", *options, ago(limit + 1), "--max-age", "none")[0] == 0


def test_the_time_of_the_files_is_looked_at(captures: Path, tmp_path: Path):
    of(captures / "access1", ago(41))
    code, devices = audited(captures, tmp_path / "out")
    assert code == 3
    assert [name for name, device in devices.items() if not device["complete"]] == ["access1"]
    assert "41 days old" in str(devices["access1"]["reason"])


def test_what_a_capture_says_of_its_day_holds_over_what_is_stated(captures: Path, tmp_path: Path):
    gateway = captures / "gw1.rsc"
    text = gateway.read_text()
    for line, captured in (
        (f"# {ago(3)} 10:00:00 by RouterOS 7.15.3", {"on": f"{ago(3)}", "by": "text"}),
        ("# 1970-01-02 00:00:12 by RouterOS 7.15.3", {"on": f"{ago(1)}", "by": "stated"}),
        (f"# {ago(-5)} 10:00:00 by RouterOS 7.15.3", {"on": f"{ago(1)}", "by": "stated"}),
    ):
        gateway.write_text("\n".join([line, *text.split("\n")[1:]]))
        _, devices = audited(captures, tmp_path / "out", "--captured-on", ago(1))
        assert devices["gw1"]["captured"] == captured
        assert ("device clock not set" in str(devices["gw1"]["notes"])) is (captured["by"] == "stated")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--max-age", "-1"], "neither a number of days nor none"),
        (["--max-age", "soon"], "neither a number of days nor none"),
        (["--captured-on", ago(-1)], "not a day between 2000 and today"),
        (["--captured-on", "1999-12-31"], "not a day between 2000 and today"),
        (["--captured-on", "yesterday"], "write YYYY-MM-DD"),
        (["--captured-on", "30.11.2026"], "write YYYY-MM-DD, such as 2026-11-30"),
    ],
)
def test_days_that_cannot_be_meant_are_refused(options: list[object], said: str, captures: Path):
    code, output = run("audit", QUARRY / "plan.yaml", "--captures", captures, "--no-history", *options)
    assert (code, said in output) == (2, True)


def test_no_day_is_stated_of_what_is_read_live():
    code, output = run("audit", QUARRY / "plan.yaml", "--no-history", "--captured-on", TODAY)
    assert (code, "--captured-on gives the day of saved captures" in output) == (2, True)


def test_the_demo_is_of_the_day_on_which_it_is_run_whatever_becomes_of_its_files(tmp_path: Path):
    code, output = run("demo", "--out", tmp_path)
    assert (code, f"captured on {TODAY} (recorded when it was read): gw1, core1, access1, ap1, ap2" in output) == (
        1,
        True,
    )
    of(tmp_path / "captures", date(2001, 1, 1))
    again = ("audit", tmp_path / "plan.yaml", "--captures", tmp_path / "captures", "--no-history")
    code, repeated = run(*again, "--out", tmp_path / "again", "--occasion", "acceptance")
    assert code == 1
    assert without_files(repeated) == without_files(output)


def without_files(output: str) -> str:
    """Return what is printed on stdout alone."""
    return re.sub(r"^(Reports|Plan and captures) written to .*\n", "", output, flags=re.MULTILINE)


def test_a_capture_is_read_with_its_day(captures: Path):
    file = captures / "core1" / "show_running-config.txt"
    plain = run("read", "--platform", "cisco_ios", file)[1]
    assert f"captured on {TODAY} (day of the file)" in plain
    machine = json.loads(run("read", "--platform", "cisco_ios", "--json", file)[1])
    assert machine["captured"] == {"on": f"{TODAY}", "by": "file"}
    gateway = captures / "gw1.rsc"
    gateway.write_text("# 1970-01-02 00:00:12 by RouterOS 7.15.3\n" + gateway.read_text())
    plain = run("read", "--platform", "mikrotik_routeros", gateway)[1]
    assert "device clock not set: gw1.rsc:1 says 1970-01-02" in plain
