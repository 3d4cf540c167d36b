"""One more dialect is two folders and no Python: it is added to a copy of the project, and all its tests pass."""

from __future__ import annotations

import filecmp
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import FIXTURES, ROOT

NAME = "zyxel_os"
GIVEN = Path(__file__).parent / "contributor" / NAME
PARTS = ("auditor", "templates", "fixtures", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A copy of the project with the dialect's two folders in it."""
    home = tmp_path / "project"
    home.mkdir()
    for part in PARTS:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, home / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / part, home / part)
    shutil.copytree(GIVEN / "templates", home / "templates" / "platforms" / NAME)
    shutil.copytree(GIVEN / "fixtures", home / "fixtures" / "platforms" / NAME)
    return home


def run(project: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python in a project, whose own package is the one that is imported."""
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=project,
        env={**os.environ, "PYTHONPATH": str(project), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
    )


def trial(project: Path) -> subprocess.CompletedProcess[str]:
    return run(project, "-m", "pytest", "tests/platforms", "-q", "-p", "no:cacheprovider", "-k", NAME)


def new_in(project: Path, part: str) -> list[str]:
    """Return what a folder of the copy has beyond the project's, or in other words."""
    compared = filecmp.dircmp(ROOT / part, project / part, ignore=["__pycache__"])
    waiting, found = [compared], []
    while waiting:
        each = waiting.pop()
        waiting += each.subdirs.values()
        found += [*each.right_only, *each.diff_files, *each.left_only]
    return found


@pytest.mark.slow
def test_two_folders_are_all_it_takes(project: Path):
    assert {part: new_in(project, part) for part in ("auditor", "templates", "fixtures", "tests")} == {
        "auditor": [],
        "templates": [NAME],
        "fixtures": [NAME],
        "tests": [],
    }
    where = run(project, "-c", "import auditor; print(auditor.__file__)")
    assert where.stdout.startswith(str(project))
    result = trial(project)
    assert result.returncode == 0, result.stdout[-3000:]
    passed = re.search(r"(\d+) passed", result.stdout)
    assert passed is not None
    assert int(passed[1]) >= 20
    assert NAME in run(project, "-m", "auditor", "platforms").stdout
    capture = FIXTURES.relative_to(ROOT) / "platforms" / NAME / "access_switch" / "running.cfg"
    reading = run(project, "-m", "auditor", "read", "--platform", NAME, str(capture))
    assert reading.returncode == 0, reading.stdout + reading.stderr


@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("interface.textfsm", "^pvid ${UNTAGGED_VLAN}$$", "^pvlan ${UNTAGGED_VLAN}$$"),
        ("vlan.textfsm", "  ^. -> Error", ""),
    ],
)
def test_a_fault_in_them_is_found(file: str, old: str, new: str, project: Path):
    path = project / "templates" / "platforms" / NAME / file
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))
    result = trial(project)
    assert result.returncode == 1
    assert "failed" in result.stdout
