"""One more dialect is two folders and no Python: it is added to a copy of the project, and all its tests pass."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT

NAME = "zyxel_os"
GIVEN = Path(__file__).parent / "contributor" / NAME
PARTS = ("auditor", "templates", "fixtures", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")
TEMPLATES = Path("templates", "platforms", NAME)
CASES = Path("fixtures", "platforms", NAME)
LEFT_OUT = ("__pycache__", ".hypothesis")


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    """A copy of the project as it is."""
    home = tmp_path / "project"
    home.mkdir()
    for part in PARTS:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, home / part, ignore=shutil.ignore_patterns(*LEFT_OUT))
        else:
            shutil.copy(ROOT / part, home / part)
    return home


def add_dialect(project: Path) -> None:
    shutil.copytree(GIVEN / "templates", project / TEMPLATES)
    shutil.copytree(GIVEN / "fixtures", project / CASES)


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


def trial(project: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return run(project, "-m", "pytest", "tests/platforms", "-q", "-p", "no:cacheprovider", "-k", NAME, *more)


def contents(project: Path) -> dict[Path, str]:
    """Return what every file of a project holds, by its path there."""
    return {
        path.relative_to(project): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in project.rglob("*")
        if path.is_file() and not set(LEFT_OUT) & set(path.relative_to(project).parts)
    }


@pytest.mark.slow
def test_two_folders_are_all_it_takes(plain: Path):
    before = contents(plain)
    add_dialect(plain)

    where = run(
        plain, "-c", "import auditor, sys; print(auditor.__file__, sys.path[0] in ('', sys.argv[1]))", str(plain)
    )
    assert where.stdout.split() == [str(plain / "auditor" / "__init__.py"), "True"]
    result = trial(plain)
    assert result.returncode == 0, result.stdout[-3000:]
    passed = re.search(r"(\d+) passed", result.stdout)
    assert passed is not None
    assert int(passed[1]) >= 20
    assert re.search(rf"^{NAME} ", run(plain, "-m", "auditor", "platforms").stdout, re.MULTILINE)
    capture = CASES / "access_switch" / "running.cfg"
    reading = run(plain, "-m", "auditor", "read", "--platform", NAME, str(capture))
    assert reading.returncode == 0, reading.stdout + reading.stderr

    after = contents(plain)
    assert {path: text for path, text in after.items() if path in before} == before
    new = after.keys() - before.keys()
    assert {Path(*path.parts[:3]) for path in new} == {TEMPLATES, CASES}
    assert [path for path in new if path.suffix == ".py"] == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "old", "new", "noticed_by"),
    [
        ("interface.textfsm", "^pvid ${UNTAGGED_VLAN}$$", "^pvlan ${UNTAGGED_VLAN}$$", "test_cases.py"),
        ("vlan.textfsm", "  ^. -> Error\n", "", "test_templates.py"),
        ("expected.cfg.j2", "  pvid {{ port.untagged }}", "  pvid 1", "test_round_trip.py"),
    ],
)
def test_a_fault_in_them_is_found(file: str, old: str, new: str, noticed_by: str, plain: Path):
    add_dialect(plain)
    path = plain / TEMPLATES / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    result = trial(plain, "--exitfirst")
    assert result.returncode == 1
    assert re.search(rf"^FAILED tests/platforms/{noticed_by}::", result.stdout, re.MULTILINE), result.stdout[-3000:]
