"""The README is short, its commands do what it says, and its output is real."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from auditor import manual
from auditor.cli import COMMANDS
from auditor.core.report import EXIT_CODES
from tests import documents
from tests.conftest import ROOT

README = documents.README.read_text(encoding="utf-8")
MORE = "\n…\n"
"""Stands for the rest of an output that is shown in part."""


def demo_text() -> str:
    """Return what the demo prints, its day made one that never changes."""
    run = subprocess.run(
        [sys.executable, "-m", "auditor", "demo"], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert run.returncode == EXIT_CODES["nonconforming"], run.stderr
    day = re.search(r"\d{4}-\d\d-\d\d$", run.stdout.split("\n")[0])
    assert day
    return run.stdout.replace(day[0], "2026-11-25")


def excerpt(text: str) -> str:
    """Return the paragraphs of the demo's output that the README shows: the result, the devices, the first findings."""
    return "\n\n".join(text.split("\n\n")[:3]) + "\n" + MORE


def test_the_demo_begins_with_what_the_readme_shows(update: bool):
    (shown,) = documents.blocks(README, "text")
    if update:
        documents.README.write_text(README.replace(shown, excerpt(demo_text())), encoding="utf-8")
        pytest.skip("README.md written anew")
    assert shown == excerpt(demo_text())


def test_it_is_short():
    assert README.count("\n") <= 150


def test_both_commands_stand_in_it():
    demo, tests = (block for block in documents.blocks(README, "sh") if block.startswith("git clone"))
    assert demo.endswith("auditor demo\n")
    assert tests.endswith(".ci/run\n")


@pytest.mark.slow
@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="needs a repository to clone")
def test_the_first_command_works_in_a_fresh_clone(tmp_path: Path):
    """A fresh clone in a fresh virtual environment; the second command is the one that runs this test.

    The libraries are those of this interpreter: no test may reach further than this machine.
    """
    command = documents.blocks(README, "sh")[0].replace("git clone .", f"git clone --quiet {ROOT}")
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


def test_the_table_of_exit_codes_is_whole():
    listed = {int(code) for code in re.findall(r"^\| (\d) \|", README, re.MULTILINE)}
    assert listed == {*EXIT_CODES.values(), 2}


def test_every_command_stands_in_it():
    assert all(f"auditor {name}" in README for name in COMMANDS)


def test_it_leads_to_every_page_of_the_manual():
    assert re.findall(r"\(auditor/manual/(\w+)\.md\)", README) == list(manual.NAMES)


def test_what_it_links_to_is_there():
    for link in re.findall(r"\]\(([^)]+)\)", README):
        assert (ROOT / link).is_file(), link
