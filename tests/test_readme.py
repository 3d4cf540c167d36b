"""The README's commands do what it says, and its output is real."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor.app.demo import PASSPHRASES
from auditor.cli import COMMANDS, cli
from auditor.core.report import EXIT_CODES
from auditor.plan import loader
from auditor.platforms import catalogue
from tests.conftest import ROOT

README = (ROOT / "README.md").read_text()


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def demo_text() -> str:
    """Return what the demo prints, its day made one that never changes."""
    run = subprocess.run(
        [sys.executable, "-m", "auditor", "demo"], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert run.returncode == EXIT_CODES["nonconforming"], run.stderr
    day = re.search(r"\d{4}-\d\d-\d\d$", run.stdout.split("\n")[0])
    assert day
    return run.stdout.replace(day[0], "2026-11-25")


def test_the_demo_prints_what_the_readme_shows(update: bool):
    shown = blocks("text")[0]
    if update:
        (ROOT / "README.md").write_text(README.replace(shown, demo_text()))
        pytest.skip("README.md written anew")
    assert shown == demo_text()


def verified_text(folder: Path) -> str:
    """Return what looking into the demo's evidence prints, its day made one that never changes."""
    for command in (["demo", "--out", str(folder)], ["verify", str(folder / "report" / "evidence.zip")]):
        run = subprocess.run(
            [sys.executable, "-m", "auditor", *command],
            capture_output=True,
            text=True,
            cwd=ROOT,
            env={**os.environ, **PASSPHRASES},
            check=False,
        )
    assert run.returncode == 0, run.stdout + run.stderr
    return re.sub(r"\d+ files", "28 files", re.sub(r"\d{4}-\d\d-\d\d", "2026-11-25", run.stdout))


@pytest.mark.slow
def test_looking_into_evidence_prints_what_the_readme_shows(update: bool, tmp_path: Path):
    shown = next(block for block in blocks("text") if block.startswith("VERIFIED"))
    if update:
        readme = (ROOT / "README.md").read_text()
        (ROOT / "README.md").write_text(readme.replace(shown, verified_text(tmp_path)))
        pytest.skip("README.md written anew")
    assert shown == verified_text(tmp_path)


def test_both_commands_stand_in_it():
    demo, tests = (block for block in blocks("sh") if block.startswith("git clone"))
    assert demo.endswith("auditor demo\n")
    assert tests.endswith(".ci/run\n")


@pytest.mark.slow
@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="needs a repository to clone")
def test_the_first_command_works_in_a_fresh_clone(tmp_path: Path):
    """A fresh clone in a fresh virtual environment; the second command is the one that runs this test.

    The libraries are those of this interpreter: no test may reach further than this machine.
    """
    command = blocks("sh")[0].replace("git clone .", f"git clone --quiet {ROOT}")
    offline = {"PIP_NO_INDEX": "1", "PIP_NO_DEPS": "1", "PIP_NO_BUILD_ISOLATION": "0"}
    libraries = {"PYTHONPATH": sysconfig.get_paths()["purelib"]}
    run = subprocess.run(
        ["bash", "-c", command],
        cwd=tmp_path,
        env={**os.environ, **offline, **libraries},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1, run.stderr
    assert "Quarry Road Veterinary Clinic (QRC-01)" in run.stdout


def test_the_plan_shown_is_a_plan():
    plan = loader.parse("plan.yaml", blocks("yaml")[0].encode())
    assert plan.data.subnets["cameras"].vlan == 60


def test_the_table_of_exit_codes_is_whole():
    listed = {int(code) for code in re.findall(r"^\| (\d) \|", README, re.MULTILINE)}
    assert listed == {*EXIT_CODES.values(), 2}


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="needs systemd")
def test_the_units_shown_are_units(tmp_path: Path):
    for name, text in zip(("auditor.service", "auditor.timer"), blocks("ini"), strict=True):
        (tmp_path / name).write_text(text.replace("/opt/auditor/bin/auditor", "/bin/true"))
    command = [
        "systemd-analyze",
        "verify",
        "--man=no",
        str(tmp_path / "auditor.timer"),
        str(tmp_path / "auditor.service"),
    ]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert str(tmp_path) not in run.stderr
    assert run.returncode == 0, run.stderr


def test_the_service_fails_only_where_nothing_was_audited():
    (codes,) = re.findall(r"^SuccessExitStatus=(.*)$", README, re.MULTILINE)
    assert {int(code) for code in codes.split()} == {code for code in EXIT_CODES.values() if code}


def test_every_command_stands_in_it():
    assert all(f"auditor {name}" in README for name in COMMANDS)


def test_every_command_has_a_help_page():
    for name in COMMANDS:
        shown = CliRunner().invoke(cli, [name, "--help"])
        assert shown.exit_code == 0
        assert "Usage:" in shown.output


def test_the_table_of_platforms_is_that_of_their_data():
    for name in catalogue.names():
        platform = catalogue.get(name)
        names = " ".join(f"`{each}`" for each in (name, *platform.also))
        commands = ", ".join(f"`{command}`" for command in platform.commands).replace("|", r"\|")
        assert f"| {names} | {platform.about} | {commands} |" in README
