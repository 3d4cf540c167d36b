"""``AUDITOR_LOG`` and ``--debug``: where something went wrong, and nothing of what a device or an exception says."""

from __future__ import annotations

import re
import stat
from pathlib import Path

import pytest

from auditor.cli import main
from auditor.unforeseen import LOG, frames_of
from tests.cli.called import QUARRY, Caller
from tests.cli.test_unforeseen import SECRET, failing, reads_core1, replaced

AUDIT = ("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--no-history", "--max-age", "none")


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The log that the environment names; its folder is not there yet."""
    monkeypatch.setenv("AUDITOR_LOG", str(tmp_path / "logs" / "auditor.log"))
    return tmp_path / "logs" / "auditor.log"


def test_the_log_has_begin_devices_and_end_and_is_for_its_owner_alone(log: Path, call: Caller):
    assert call(*AUDIT).err == ""
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    assert stat.S_IMODE(log.parent.stat().st_mode) == 0o700
    lines = [re.sub(r"^\S+ \S+ \[\d+\] ", "", line) for line in log.read_text().splitlines()]
    assert re.fullmatch(r"auditor \S+ audit began \(Python 3\.\S+\)", lines[0])
    assert lines[1:-1] == [f"QRC-01: {name}: audited" for name in ("gw1", "core1", "access1", "ap1", "ap2")]
    assert re.fullmatch(r"auditor audit ended after \d+\.\d s: 1", lines[-1])
    before = log.read_bytes()
    call("review", QUARRY / "plan.yaml")
    assert log.read_bytes().startswith(before)
    assert len(log.read_bytes()) > len(before)
    assert not [handler for handler in LOG.handlers if hasattr(handler, "file")]


def test_what_nobody_foresaw_has_its_traceback_in_the_log_without_its_words(
    log: Path, call: Caller, monkeypatch: pytest.MonkeyPatch
):
    replaced(monkeypatch, "auditor.app.auditing.read", ValueError(SECRET), reads_core1)
    ended = call(*AUDIT)
    assert (ended.code, f"auditor: the log is {log}" in ended.err) == (3, True)
    assert "the log (set AUDITOR_LOG=FILE to have one)" in ended.out
    told = log.read_text()
    assert re.search(r"\n  auditor/app/auditing\.py:\d+ in _(?:audit|read)_device\n", told)
    assert "\nbuiltins.ValueError\n" in told
    assert "QRC-01: core1: not readable\n" in told
    assert SECRET not in told + ended.err + ended.out


def test_debug_shows_tracebacks_of_errors_and_of_what_nobody_foresaw(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def told(*arguments: str) -> str:
        with pytest.raises(SystemExit):
            main([*arguments])
        return capsys.readouterr().err

    monkeypatch.delenv("AUDITOR_LOG", raising=False)
    wrong = ("audit", "no.yaml", "--captures", ".")
    assert "Traceback" not in told(*wrong)
    twice = ("audit", "no.yaml", "no.yaml", "--captures", ".")
    assert re.search(
        r"  auditor/app/sites\.py:\d+ in _refuse_twins\n.*UsageError\n", told("--debug", *twice), re.DOTALL
    )
    monkeypatch.setattr("auditor.app.demo.demo_report", failing(KeyError(SECRET)))
    shown = told("--debug", "demo")
    assert "Traceback, without the words of the exception:\n" in shown
    assert "\nbuiltins.KeyError\n" in shown
    assert SECRET not in shown


def test_a_log_that_cannot_be_written_is_told_before_anything_is_done(
    call: Caller, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("AUDITOR_LOG", str(tmp_path / "file" / "log"))
    ended = call("demo", "--out", tmp_path / "out")
    assert (ended.code, ended.out, (tmp_path / "out").exists()) == (2, "", False)
    assert f"AUDITOR_LOG: {tmp_path / 'file' / 'log'} cannot be written" in ended.err


def test_a_traceback_has_what_led_to_it_and_no_words():
    try:
        try:
            failing(ExceptionGroup(SECRET, [ValueError(SECRET), OSError(SECRET)]))()
        except ExceptionGroup as error:
            raise KeyError(SECRET) from error
    except KeyError as error:
        lines = list(frames_of(error))
    assert lines[1].startswith("  cli/test_log.py:")
    assert [line for line in lines if not line.startswith("  cli/test_")] == [
        "Traceback, without the words of the exception:",
        "builtins.ExceptionGroup",
        "  of which builtins.ValueError",
        "  of which builtins.OSError",
        "which led to:",
        "builtins.KeyError",
    ]
