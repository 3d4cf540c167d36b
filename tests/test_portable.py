"""Windows and macOS: nothing of the package needs what POSIX alone has, and the main job is done without it."""

from __future__ import annotations

import ast
import errno
import fcntl
import json
import os
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from auditor import files
from auditor.capture.files import SavedCaptures
from auditor.capture.interface import Captured
from auditor.capture.saving import CaptureRecord, save
from auditor.cli.demo import audit_again
from auditor.errors import HistoryError, ReportError, UsageError
from auditor.history import History
from auditor.reading.source import CaptureFile
from auditor.reports.writing import write_files
from tests.compare.site import NETWORKS, PASSPHRASES
from tests.conftest import ROOT

QUARRY = NETWORKS / "quarry-road"
ABSENT = ("fcntl", "pwd", "grp", "termios", "resource", "pty", "tty")
"""Modules that Windows lacks (Python's library reference, "Unix-specific services")."""
ABSENT_FROM_OS = {
    "O_DIRECTORY", "O_NOFOLLOW", "O_NONBLOCK", "chown", "fchmod", "fchown", "fork", "geteuid", "getgid", "getpgid",
    "getuid", "kill", "killpg", "mkfifo", "sched_getaffinity", "setsid", "statvfs", "wait",
}  # fmt: skip
"""What the module ``os`` lacks there, or does not do there what it does elsewhere (the same reference)."""

BLOCKED = """
import sys
ABSENT, CUT = {absent!r}, {cut!r}
class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name in ABSENT:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)
sys.meta_path.insert(0, Blocked())
for name in ABSENT:
    sys.modules.pop(name, None)
import os
for name in CUT:
    if hasattr(os, name):
        delattr(os, name)
from auditor.cli import main
main()
"""


def blocked(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a command where there is none of this."""
    cut = ["O_DIRECTORY", "O_NOFOLLOW", "getuid", "geteuid", "getgid", "fchmod", "mkfifo", "fork"]
    code = BLOCKED.format(absent=ABSENT, cut=cut)
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)],
        capture_output=True, text=True, cwd=ROOT, env={**os.environ, **PASSPHRASES, **environment}, check=False,
    )  # fmt: skip


@pytest.mark.slow
def test_the_main_job_needs_none_of_it(tmp_path: Path):
    """Live reading is not tried: netmiko's library for serial lines takes its POSIX half by the system's name."""
    out, history = tmp_path / "out", tmp_path / "history.sqlite"
    site = [QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--max-age", "none"]
    audited = blocked("audit", *site, "--out", out, "--history", history)
    assert (audited.returncode, "telnet" in audited.stdout) == (1, True), audited.stderr
    assert json.loads((out / "report.json").read_text(encoding="utf-8"))["verdict"] == "nonconforming"
    others: tuple[tuple[list[object], int], ...] = (
        (["verify", out / "evidence.zip"], 0),
        (["history", QUARRY / "plan.yaml", "--history", history], 0),
        (["overview", "--out", tmp_path / "all", "--history", history], 0),
        (["review", QUARRY / "plan.yaml"], 0),
        (["demo", "--out", tmp_path / "demo"], 1),
        (["read", "--platform", "mikrotik_routeros", QUARRY / "conforming" / "gw1.rsc"], 0),
    )
    for arguments, code in others:
        done = blocked(*arguments)
        assert (done.returncode, "fault of auditor" in done.stdout + done.stderr) == (code, False), done


def imported(tree: ast.AST) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found.update(alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            found.add((node.module or "").partition(".")[0])
    return found


def test_no_module_imports_or_uses_what_windows_lacks_but_for_the_one_that_locks():
    for path in (ROOT / "auditor").rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert not imported(tree) & {*ABSENT, "posix", "syslog", "msvcrt", "winreg"}, path
        used = {
            node.attr
            for node in ast.walk(tree)
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "os"
        }
        if path.name != "files.py" or path.parent.name != "auditor":
            assert not used & ABSENT_FROM_OS, path


def fake_windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lock as Windows does: files alone, and one process or handle at a time (from memory of its C library)."""

    def locking(handle: int, how: int, octets: int) -> None:
        assert (how, octets) == (2, 1)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise PermissionError(errno.EACCES, "Permission denied") from error

    modules: dict[str, Any] = {"msvcrt": SimpleNamespace(LK_NBLCK=2, locking=locking)}
    monkeypatch.setattr(files, "_optional", modules.get)


def test_a_folder_is_locked_where_only_files_can_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    fake_windows(monkeypatch)
    folder = tmp_path / "captures"
    with pytest.raises(FileNotFoundError):
        files.hold(folder)
    folder.mkdir()
    files.hold(folder, shared=True)()
    assert [path.name for path in tmp_path.iterdir()] == ["captures"]
    let_go = files.hold(folder)
    for shared in (False, True):
        with pytest.raises(BlockingIOError):
            files.hold(folder, shared=shared, wait=False)
    folder.rename(tmp_path / "moved")
    (tmp_path / "moved").rename(folder)
    with ThreadPoolExecutor() as pool:
        waiting = pool.submit(files.hold, folder)
        let_go()
        waiting.result()()
    assert [path.name for path in tmp_path.iterdir()] == ["captures"]


@pytest.mark.parametrize("windows", [True, False], ids=["windows", "neither"])
def test_captures_are_saved_and_found_without_locks_of_posix(
    windows: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    fake_windows(monkeypatch) if windows else monkeypatch.setattr(files, "_optional", lambda _: None)
    when = datetime(2026, 11, 25, tzinfo=UTC)
    record = CaptureRecord("sw1", "192.0.2.2", "cisco_ios", ("show running-config",), when, when)
    (tmp_path / ".sw1.abcdefgh").mkdir()
    for text in (b"hostname older\nend\n", b"hostname sw1\nend\n"):
        save(tmp_path, record, [CaptureFile("sw1/show_running-config.txt", text)])
    found = SavedCaptures(tmp_path).capture("sw1")
    assert isinstance(found, Captured)
    assert [file.data for file in found.files] == [b"hostname sw1\nend\n"]
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]


def test_a_file_that_is_open_in_another_program_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def in_use(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "replace", in_use)
    with pytest.raises(ReportError, match=r"report\.html: cannot be written: close it: another program has it open"):
        write_files(tmp_path, {"report.html": b"x"})
    assert not list(tmp_path.iterdir())
    when = datetime(2026, 11, 25, tzinfo=UTC)
    record = CaptureRecord("sw1", "192.0.2.2", "cisco_ios", ("show running-config",), when, when)
    with pytest.raises(UsageError, match="capture of sw1 cannot be written: close it: "):
        save(tmp_path, record, [CaptureFile("sw1/show_running-config.txt", b"end\n")])
    (tmp_path / "history.sqlite").write_bytes(b"no database, and longer than what is empty" * 100)
    with pytest.raises(HistoryError, match="damaged, and cannot be set aside: close it: "):
        History.begin(tmp_path / "history.sqlite", when)


def test_lines_end_as_they_were_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Python's reference, ``os.open``: without O_BINARY, Windows translates line ends."""
    flags: list[int] = []
    opened = os.open
    monkeypatch.setattr(files, "_BINARY", 1 << 28)

    def noted(path: Path, how: int, mode: int) -> int:
        flags.append(how)
        return opened(path, how & ~(1 << 28), mode)

    monkeypatch.setattr(os, "open", noted)
    files.write_new(tmp_path / "x", b"a\nb\n")
    assert [how & 1 << 28 for how in flags] == [1 << 28]


def test_the_demo_says_how_to_audit_again_in_the_words_of_the_shell_at_hand():
    given = {"QUARRY_GUEST": "it's an invented one"}
    assert audit_again(Path("a b"), given, windows=True) == (
        "$env:QUARRY_GUEST = 'it''s an invented one'; auditor audit 'a b/plan.yaml' --captures 'a b/captures'"
    )
    assert shlex.split(audit_again(Path("a b"), given, windows=False)) == [
        "QUARRY_GUEST=it's an invented one", "auditor", "audit", "a b/plan.yaml", "--captures", "a b/captures"
    ]  # fmt: skip
