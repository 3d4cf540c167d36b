"""The command line from outside: exit codes, what goes to which stream, what is written where."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path
from unittest.mock import patch

import pytest

from auditor import SavedCaptures, audit, load_plan
from auditor.app.expectation import expectation_files
from auditor.cli import COMMANDS, main
from auditor.platforms import catalogue
from auditor.reports import FORMATS
from tests.compare.site import NETWORKS, PASSPHRASES
from tests.conftest import ROOT

QUARRY, BAKERY = NETWORKS / "quarry-road", NETWORKS / "harbour-bakery"
FILES = {form.file for form in FORMATS} | {"evidence.zip"}


OF_ANY_AGE = ("--max-age", "none", "--captured-on", "2024-05-01")
"""What lets saved fixtures be audited on any day: the day of their files is that of the checkout."""


def with_any_age(arguments: tuple[object, ...]) -> list[str]:
    """Return a command's arguments; where nothing else is said, saved captures may be of any age."""
    if arguments[:1] == ("audit",) and "--captures" in arguments and "--max-age" not in arguments:
        arguments = (*arguments, *OF_ANY_AGE)
    return [str(argument) for argument in arguments]


def outside(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run the command as a technician does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "auditor", *with_any_age(arguments)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, **PASSPHRASES, **environment},
        check=False,
    )


def auditor(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run the command in this process, which is quicker and the same where the process is not what is tried."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    with (
        patch.dict(os.environ, {**PASSPHRASES, **environment}),
        chdir(ROOT),
        redirect_stdout(out),
        redirect_stderr(err),
        pytest.raises(SystemExit) as ended,
    ):
        main(with_any_age(arguments))
    assert isinstance(ended.value.code, int)
    printed = [stream.buffer.getvalue().decode() for stream in (out, err)]
    return subprocess.CompletedProcess([*map(str, arguments)], ended.value.code, *printed)


@pytest.fixture
def captures(tmp_path: Path) -> Path:
    """A copy of the clinic's conforming captures, to be broken."""
    return Path(shutil.copytree(QUARRY / "conforming", tmp_path / "captures"))


def test_a_site_that_conforms_ends_with_0(tmp_path: Path):
    run = auditor("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "conforming", "--out", tmp_path / "out")
    assert (run.returncode, "Traceback" in run.stderr) == (0, False)
    assert "CONFORMING" in run.stdout
    assert {path.name for path in (tmp_path / "out").iterdir()} == FILES
    assert "Reports written to" in run.stderr


def test_findings_end_with_1(tmp_path: Path):
    run = outside(
        "audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--out", tmp_path, "--occasion", "acceptance"
    )
    assert run.returncode == 1
    told = json.loads((tmp_path / "report.json").read_text())
    assert (told["verdict"], told["occasion"], told["complete"]) == ("nonconforming", "acceptance", True)
    for finding in told["findings"]:
        assert finding["effect"] in run.stdout


def test_what_is_missing_ends_with_3_whatever_was_found(captures: Path):
    shutil.rmtree(captures / "access1")
    shutil.copy(QUARRY / "drifted" / "gw1.rsc", captures / "gw1.rsc")
    run = auditor("audit", QUARRY / "plan.yaml", "--captures", captures)
    assert run.returncode == 3
    assert "access1  not captured" in run.stdout


def test_an_empty_folder_is_no_site_that_conforms(tmp_path: Path):
    assert outside("audit", QUARRY / "plan.yaml", "--captures", tmp_path).returncode == 3


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["audit", "no.yaml", "--captures", "."], "no.yaml: cannot be read"),
        (["audit", QUARRY / "plan.yaml", "--captures", "nowhere"], "nowhere"),
        (["audit", QUARRY / "plan.yaml", "--captures", ".", "--occasion", "holiday"], "acceptance"),
        (["read", "--platform", "cisco_iso", ROOT / "README.md"], "did you mean cisco_ios?"),
        (["read", "--platform", "cisco_ios", "no.cfg"], "no.cfg"),
        (["expected", "no.yaml", "--out", "x"], "no.yaml"),
        (["frobnicate"], "frobnicate"),
        (["audit", "--frobnicate"], "--frobnicate"),
    ],
)
def test_what_cannot_be_used_ends_with_2_and_is_said_on_stderr(arguments: list[object], said: str):
    run = auditor(*arguments)
    assert run.returncode == 2
    assert said in run.stderr
    assert run.stdout == ""
    assert "Traceback" not in run.stderr


def test_all_errors_of_a_plan_are_told_at_once(tmp_path: Path):
    (tmp_path / "plan.yaml").write_text("format: 2\nsite: x\nsubnet: {}\nsubnets: {a: {vlan: 9999}}\n")
    run = auditor("audit", tmp_path / "plan.yaml", "--captures", tmp_path)
    assert run.returncode == 2
    assert [line.partition("plan.yaml:")[2][:2] for line in run.stderr.splitlines()] == ["1:", "3:", "4:", "4:"]


def test_quiet_says_one_line_about_what_is_not_as_planned_and_nothing_else(tmp_path: Path):
    plan = QUARRY / "plan.yaml"
    quiet = auditor("audit", plan, "--captures", QUARRY / "conforming", "--quiet", "--out", tmp_path)
    assert (quiet.returncode, quiet.stdout, quiet.stderr) == (0, "", "")
    loud = auditor("audit", plan, "--captures", QUARRY / "drifted", "--quiet")
    assert (loud.returncode, loud.stderr, len(loud.stdout.splitlines())) == (1, "", 1)


def test_several_sites_have_a_folder_each_and_trouble_wins(tmp_path: Path):
    for name, folder in (("clinic", QUARRY), ("bakery", BAKERY)):
        shutil.copy(folder / "plan.yaml", tmp_path / f"{name}.yaml")
        shutil.copytree(folder / "conforming", tmp_path / "captures" / name)
    plans = [tmp_path / "clinic.yaml", tmp_path / "bakery.yaml"]
    run = auditor("audit", *plans, "--captures", tmp_path / "captures", "--out", tmp_path / "out")
    assert run.returncode == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"clinic", "bakery"}
    assert {path.name for path in (tmp_path / "out" / "bakery").iterdir()} == FILES
    (tmp_path / "captures" / "bakery" / "gw1.cfg").unlink()
    shutil.copy(QUARRY / "drifted" / "gw1.rsc", tmp_path / "captures" / "clinic" / "gw1.rsc")
    assert auditor("audit", *plans, "--captures", tmp_path / "captures").returncode == 3
    assert auditor("audit", *reversed(plans), "--captures", tmp_path / "captures").returncode == 3


@pytest.mark.slow
def test_no_colour_where_nobody_wants_any():
    for environment in ({"NO_COLOR": "1"}, {}):
        run = outside("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", **environment)
        assert "\x1b" not in run.stdout


def test_a_folder_that_cannot_be_written_ends_with_2(tmp_path: Path):
    (tmp_path / "out").write_text("a file stands in the way")
    run = auditor("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "conforming", "--out", tmp_path / "out")
    assert run.returncode == 2
    assert "cannot be written" in run.stderr


def test_a_reading_for_people_and_for_machines():
    file = QUARRY / "conforming" / "gw1.rsc"
    plain, machine = (auditor("read", "--platform", "mikrotik_routeros", *more, file) for more in ([], ["--json"]))
    told = json.loads(machine.stdout)
    assert (plain.returncode, machine.returncode) == (0, 0)
    assert list(told)[:6] == ["platform", "hostname", "lines", "audited_lines", "state", "not_understood"]
    assert (told["hostname"], told["complete"], told["not_understood"]) == ("gw1", True, [])
    assert told["lines"] == len(file.read_text().splitlines())
    assert told["state"]["ports"]["ether2"]["tagged"] == "10,20,30,40,50,99"
    assert "gw1 · mikrotik_routeros" in plain.stdout


def test_a_reading_that_is_not_whole_ends_with_3(tmp_path: Path):
    (tmp_path / "sw.cfg").write_text("hostname sw\ninterface GigabitEthernet0/1\n switchport mode frobnicate\nend\n")
    run = auditor("read", "--platform", "cisco_ios", "--json", tmp_path / "sw.cfg")
    assert run.returncode == 3
    told = json.loads(run.stdout)
    assert told["complete"] is False
    assert [(line["line"], line["text"].strip()) for line in told["not_understood"]] == [
        (3, "switchport mode frobnicate")
    ]


def test_expected_settings_are_written_native_and_normalized(tmp_path: Path):
    run = auditor("expected", QUARRY / "plan.yaml", "--out", tmp_path)
    assert run.returncode == 0
    names = {f"{device}.{ending}" for device in ("gw1", "core1", "access1", "ap1", "ap2") for ending in ("cfg", "json")}
    assert {path.name for path in tmp_path.iterdir()} == names
    assert sorted(run.stdout.split()) == sorted(str(tmp_path / name) for name in names)
    assert "quarry guest 4 you" not in "".join(path.read_text() for path in tmp_path.iterdir())
    core = json.loads((tmp_path / "core1.json").read_text())
    assert core["ports"]["GigabitEthernet1/0/21"]["tagged"] == "10,20,30,40,99"


def test_expect_is_an_old_name_of_expected_that_still_works(tmp_path: Path):
    run = auditor("expect", QUARRY / "plan.yaml", "--out", tmp_path / "old", "--quiet")
    assert (run.returncode, run.stdout) == (0, "")
    assert run.stderr == "auditor: 'auditor expect' is now 'auditor expected': use the new name\n"
    assert auditor("expected", QUARRY / "plan.yaml", "--out", tmp_path / "new", "--quiet").stderr == ""
    for file in (tmp_path / "new").iterdir():
        assert (tmp_path / "old" / file.name).read_bytes() == file.read_bytes()
    assert not re.search(r"\bexpect\b", auditor("--help").stdout)


def test_the_demo_writes_a_site_that_can_be_audited_again(tmp_path: Path):
    run = auditor("demo", "--out", tmp_path)
    assert run.returncode == 1
    again = auditor("audit", tmp_path / "plan.yaml", "--captures", tmp_path / "captures")
    assert again.returncode == 1
    assert (tmp_path / "report" / "report.html").is_file()
    assert auditor("verify", tmp_path / "report" / "evidence.zip").returncode == 0


def test_evidence_that_was_altered_ends_with_1_and_what_is_none_with_2(tmp_path: Path):
    run = auditor("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--out", tmp_path)
    assert run.returncode == 1
    file = tmp_path / "evidence.zip"
    whole = auditor("verify", file)
    assert (whole.returncode, whole.stderr) == (0, "")
    assert whole.stdout.startswith("VERIFIED: all ")
    told = json.loads((tmp_path / "report.json").read_text())
    with zipfile.ZipFile(file) as archive:
        assert archive.read("reports/report.json") == (tmp_path / "report.json").read_bytes()
        for device in told["devices"]:
            for capture in device["captures"]:
                assert hashlib.sha256(archive.read(f"captures/{capture['file']}")).hexdigest() == capture["sha256"]
    file.write_bytes(file.read_bytes().replace(b"hostname core1", b"hostname core2", 1))
    altered = auditor("verify", file)
    assert altered.returncode == 1
    assert "captures/core1/show_running-config.txt was altered" in altered.stdout
    none = auditor("verify", tmp_path / "report.json")
    assert (none.returncode, none.stdout) == (2, "")
    assert none.stderr.endswith("report.json: not a zip archive\n")


def test_what_the_command_line_does_is_one_library_call():
    report = audit(load_plan(QUARRY / "plan.yaml"), SavedCaptures(QUARRY / "drifted"), environment=PASSPHRASES)
    assert report.exit_code == 1
    assert len(expectation_files(load_plan(QUARRY / "plan.yaml"))) == 10


def test_help_names_every_command_and_the_exit_codes():
    run = outside("--help")
    assert run.returncode == 0
    assert all(name in run.stdout for name in COMMANDS)
    assert "Exit codes" in run.stdout
    assert outside("--version").stdout.startswith("auditor ")
    bare = outside()
    assert (bare.returncode, bare.stdout) == (2, "")
    assert all(name in bare.stderr for name in COMMANDS)


def test_platforms_says_what_can_be_read_of_each():
    run = auditor("platforms")
    assert (run.returncode, run.stderr) == (0, "")
    head, *rows = run.stdout.split("\n\n")[0].splitlines()
    assert head.split()[:3] == ["platform", "hostname", "vlans"]
    assert [row.split()[0] for row in rows] == list(catalogue.names())
    for name in catalogue.names():
        platform = catalogue.get(name)
        assert platform.about in run.stdout
        assert all(f"cannot show {what}: {why}" in run.stdout for what, why in platform.cannot_show.items())


@pytest.mark.slow
def test_names_that_are_no_utf_8_are_written_in_numbers(captures: Path, tmp_path: Path):
    """A file name on Linux is octets; a report is UTF-8."""
    brief = captures / "core1" / "show_vlan_brief.txt"
    brief.rename(os.fsdecode(os.fsencode(brief.parent) + b"/vlans\xff.txt"))
    plan = tmp_path / os.fsdecode(b"plan\xfe.yaml")
    plan.write_bytes((QUARRY / "plan.yaml").read_bytes())
    run = outside(
        "audit", os.fsencode(plan).decode(errors="surrogateescape"), "--captures", captures, "--out", tmp_path
    )
    assert (run.returncode, "Traceback" in run.stderr) == (0, False)
    told = json.loads((tmp_path / "report.json").read_text())
    assert told["plan"]["file"] == r"plan\xfe.yaml"
    files = [capture["file"] for device in told["devices"] for capture in device["captures"]]
    assert r"core1/vlans\xff.txt" in files


def test_entries_that_approve_are_on_the_terminal_and_not_in_a_quiet_run():
    arguments = ("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted")
    run, quiet = auditor(*arguments), auditor(*arguments, "--quiet")
    assert run.stdout.rstrip().endswith("until: YYYY-MM-DD}")
    assert "YYYY" not in quiet.stdout + quiet.stderr
    assert run.returncode == quiet.returncode == 1
