"""Files for their owner alone, unless the umask is to say: every command that writes, and what it writes meanwhile."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor.capture.saving import CaptureRecord, save
from auditor.cli import cli
from auditor.errors import ReportError
from auditor.files import make_folder, replace_file
from auditor.history import History
from auditor.reading.source import CaptureFile
from auditor.reports.writing import write_atomically
from tests.compare.site import NETWORKS, PASSPHRASES

BAKERY = NETWORKS / "harbour-bakery"
WHEN = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
COMMANDS: dict[str, list[object]] = {
    "audit": ["audit", BAKERY / "plan.yaml", "--captures", BAKERY / "conforming", "--out"],
    "expected": ["expected", BAKERY / "plan.yaml", "--out"],
    "demo": ["demo", "--out"],
    "overview": ["overview", "--out"],
}


@contextmanager
def umask(mode: int) -> Iterator[None]:
    before = os.umask(mode)
    try:
        yield
    finally:
        os.umask(before)


def modes(folder: Path) -> dict[str, int]:
    """Return the modes of a folder and of all below it."""
    return {
        str(path.relative_to(folder.parent)): stat.S_IMODE(path.stat().st_mode) for path in [folder, *folder.rglob("*")]
    }


def run(*arguments: object) -> None:
    result = CliRunner().invoke(cli, list(map(str, arguments)), env=PASSPHRASES, standalone_mode=False)
    assert result.exception is None, result.output


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("group", [False, True], ids=["alone", "group"])
def test_what_a_command_writes_is_for_its_owner_alone_unless_it_is_told(command: str, group: bool, tmp_path: Path):
    with umask(0o027):
        if command == "overview":
            run(*COMMANDS["audit"], tmp_path / "before")
        run(*COMMANDS[command], tmp_path / "deep" / "out", *["--group"][: int(group)])
    found = modes(tmp_path / "deep")
    assert len(found) > 3
    for name, mode in found.items():
        folder = (tmp_path / name).is_dir()
        assert mode == ((0o750 if folder else 0o640) if group else (0o700 if folder else 0o600)), name


@pytest.mark.parametrize("group", [False, True], ids=["alone", "group"])
def test_the_history_is_for_its_owner_alone_unless_it_is_told(group: bool, tmp_path: Path):
    path = tmp_path / "deep" / "history.sqlite"
    with umask(0o027):
        more = ["--history", path, *["--group"][: int(group)]]
        run(*COMMANDS["audit"], tmp_path / "out", *more)
        assert modes(path.parent) == {
            "deep": 0o750 if group else 0o700,
            "deep/history.sqlite": 0o640 if group else 0o600,
        }
        path.chmod(0o604)
        run(*COMMANDS["audit"], tmp_path / "out", *more)
    assert modes(path)["history.sqlite"] == 0o604


@pytest.mark.parametrize("group", [False, True], ids=["alone", "group"])
def test_captures_are_for_their_owner_alone_unless_it_is_told(group: bool, tmp_path: Path):
    record = CaptureRecord("sw1", "10.0.0.2", "cisco_ios", ("show running-config",), WHEN, WHEN)
    with umask(0o027):
        save(
            tmp_path / "deep" / "captures", record, [CaptureFile("sw1/show_running-config.txt", b"end\n")], group=group
        )
    for name, mode in modes(tmp_path / "deep").items():
        folder = (tmp_path / name).is_dir()
        assert mode == ((0o750 if folder else 0o640) if group else (0o700 if folder else 0o600)), name


def test_every_command_that_writes_can_be_told():
    for name in (*COMMANDS, "capture"):
        command = cli.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None
        assert "--group" in [option for parameter in command.params for option in parameter.opts], name


def test_what_is_there_keeps_its_mode(tmp_path: Path):
    folder = tmp_path / "there"
    folder.mkdir()
    folder.chmod(0o755)
    (folder / "report.json").write_text("old")
    (folder / "report.json").chmod(0o644)
    replace_file(folder / "report.json", b"new")
    assert modes(folder) == {"there": 0o755, "there/report.json": 0o600}
    assert (folder / "report.json").read_bytes() == b"new"


def test_what_is_written_meanwhile_is_no_wider(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    seen: list[tuple[str, int]] = []

    def looked_at(handle: int) -> None:
        seen.extend((path.name, stat.S_IMODE(path.stat().st_mode)) for path in tmp_path.rglob("*") if path.is_file())

    monkeypatch.setattr(os, "fsync", looked_at)
    with umask(0):
        replace_file(tmp_path / "report.json", b"new")
        assert [mode for _, mode in seen] == [0o600]
        assert seen[0][0] != "report.json"
        seen.clear()
        with umask(0o027):
            replace_file(tmp_path / "report.md", b"new", group=True)
    assert {mode for name, mode in seen if name != "report.json"} == {0o640}


@pytest.mark.parametrize("fails", ["fsync", "replace"])
def test_a_file_that_cannot_be_written_leaves_the_older_one_alone(fails: str, tmp_path: Path, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "report.json").write_text("old")
    monkeypatch.setattr(os, "fsync", full) if fails == "fsync" else monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(ReportError, match=r"report.json: cannot be written: No space left on device"):
        write_atomically(tmp_path / "report.json", b"new")
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("report.json", "old")]


def test_a_folder_in_the_place_of_a_file(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with pytest.raises(ReportError, match="cannot be written"):
        write_atomically(tmp_path / "file" / "report.json", b"new")
    with pytest.raises(OSError, match=r"exists|Not a directory"):
        make_folder(tmp_path / "file" / "folder")


def test_a_history_that_is_begun_here_can_be_opened_again(tmp_path: Path):
    with umask(0o777 & ~0o700):
        History.begin(tmp_path / "h.sqlite", WHEN, group=True).__exit__(None, None, None)
    assert modes(tmp_path / "h.sqlite")["h.sqlite"] == 0o600
