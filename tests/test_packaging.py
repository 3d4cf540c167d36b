"""The wheel holds the package with its data and nothing else, and works without a checkout."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import auditor
from tests.conftest import ROOT

pytestmark = pytest.mark.slow

TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "auditor", "templates", "tests", "fixtures"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel as pip does, offline."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*command, "--wheel-dir", str(folder), str(ROOT)], check=True)
    return next(folder.glob("*.whl"))


def shipped(folder: str, into: str) -> set[str]:
    """Return what of a folder of the checkout a wheel must hold, git's view of it."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", folder],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split("\n")  # fmt: skip
    return {into + name.removeprefix(folder) for name in listed if name and (ROOT / name).is_file()}


@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="needs git's list of files")
def test_the_wheel_holds_the_package_and_its_data(wheel: Path):
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    wanted = shipped("auditor", "auditor")
    wanted |= shipped("templates", "auditor/templates")
    wanted |= shipped("fixtures/networks/quarry-road", "auditor/demo_network")
    assert held == wanted


def test_the_wheel_works_without_a_checkout(wheel: Path, tmp_path: Path):
    """Run the demo straight out of the unpacked wheel, from elsewhere."""
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    for command, code, said in (
        (["demo"], 1, "Quarry Road Veterinary Clinic"),
        (["manual", "plan"], 0, "# The plan file"),
    ):
        path = str(tmp_path / "site")
        script = f"import sys; sys.path.insert(0, {path!r}); from auditor.cli import main; main({command!r})"
        run = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False)
        assert run.returncode == code, run.stderr
        assert said in run.stdout


def test_the_wheel_says_version_and_licence(wheel: Path):
    """Source: core metadata 2.4 (PEP 639)."""
    with zipfile.ZipFile(wheel) as archive:
        (folder,) = {name.partition("/")[0] for name in archive.namelist() if ".dist-info/" in name}
        said = archive.read(f"{folder}/METADATA").decode().splitlines()
        licence = archive.read(f"{folder}/licenses/auditor/LICENSE")
    assert f"Version: {auditor.__version__}" in said
    assert "License-Expression: Apache-2.0" in said
    assert licence == (ROOT / "auditor" / "LICENSE").read_bytes()
    assert b"Apache License" in licence


def test_nothing_else_stands_at_the_top():
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.suffix != ".egg-info"}
    assert found - {"dist", "build", "__pycache__"} <= TOP_LEVEL


def test_no_python_among_the_data():
    """A module below templates/ would make a checkout and a wheel differ."""
    assert not list((ROOT / "templates").rglob("*.py"))
