"""Commands called in this process, which is quicker than a process each: what they print, and what they end with."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from auditor.cli import main
from tests.compare.site import NETWORKS, PASSPHRASES

QUARRY, BAKERY = NETWORKS / "quarry-road", NETWORKS / "harbour-bakery"


@dataclass(frozen=True)
class Ended:
    """What a command ended with, and what it printed."""

    code: object
    out: str
    err: str


@dataclass
class Caller:
    """Calls commands, with the invented passphrases in the environment."""

    capsys: pytest.CaptureFixture[str]

    def __call__(self, *arguments: object) -> Ended:
        """Run a command to its end."""
        with pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        printed = self.capsys.readouterr()
        assert "Traceback" not in printed.err
        return Ended(ended.value.code, printed.out, printed.err)


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Caller:
    """What calls commands."""
    for name, value in PASSPHRASES.items():
        monkeypatch.setenv(name, value)
    return Caller(capsys)


@dataclass
class Two:
    """Two sites, clinic and bakery: their plans, and a folder with the captures of both. Both conform."""

    folder: Path

    @property
    def clinic(self) -> Path:
        """The plan of a clinic of five devices."""
        return self.folder / "clinic.yaml"

    @property
    def bakery(self) -> Path:
        """The plan of a bakery of three devices."""
        return self.folder / "bakery.yaml"

    @property
    def captures(self) -> Path:
        """The folder that holds one with the captures of each."""
        return self.folder / "captures"

    def drift(self, name: str) -> None:
        """Let a device of the clinic drift: a file of its captures as it is with faults."""
        shutil.copy(QUARRY / "drifted" / name, self.captures / "clinic" / name)


@pytest.fixture
def two(tmp_path: Path) -> Two:
    """Two sites that conform."""
    for name, folder in (("clinic", QUARRY), ("bakery", BAKERY)):
        shutil.copy(folder / "plan.yaml", tmp_path / f"{name}.yaml")
        shutil.copytree(folder / "conforming", tmp_path / "captures" / name)
    return Two(tmp_path)
