"""What nobody foresaw never ends with 1, which is the code of findings: it costs one device (3), or one site (2)."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from auditor import SavedCaptures, audit, load_plan
from auditor.cli import COMMANDS
from auditor.core.report import Report
from auditor.core.values import vlan_id
from auditor.unforeseen import place_of
from tests.cli.called import BAKERY, QUARRY, Caller, Two
from tests.conftest import ROOT

REPORT = "report it to its maintainers with this line and the traceback in the log (set AUDITOR_LOG=FILE to have one)"
SECRET = "invented-secret-of-this-test"


class Panic(BaseException):
    """What a library that is written in another language may raise; it is no Exception."""


UNFORESEEN: list[BaseException] = [
    ValueError(SECRET),
    KeyError(SECRET),
    RecursionError(SECRET),
    MemoryError(SECRET),
    EOFError(SECRET),
    BrokenPipeError(32, SECRET),
    UnicodeEncodeError("ascii", SECRET, 0, 1, SECRET),
    Panic(SECRET),
    SystemExit(1),
]
WITHIN = [error for error in UNFORESEEN if isinstance(error, Exception)]
LIBRARY: dict[str, tuple[str, list[object]]] = {
    "audit": ("auditor.app.rounds.sites_of", ["audit", QUARRY / "plan.yaml", "--captures", QUARRY / "conforming"]),
    "capture": ("auditor.app.capturing.capture", ["capture", QUARRY / "plan.yaml", "--out", "unused"]),
    "demo": ("auditor.app.demo.demo_report", ["demo"]),
    "expected": ("auditor.app.expectation.expectation_files", ["expected", QUARRY / "plan.yaml", "--out", "unused"]),
    "history": ("auditor.app.keeping.History.open", ["history", QUARRY / "plan.yaml"]),
    "overview": ("auditor.app.overview.History.open", ["overview", "--out", "unused"]),
    "platforms": ("auditor.app.reading.abilities_of", ["platforms"]),
    "read": ("auditor.app.reading.read", ["read", "--platform", "cisco_ios", ROOT / "README.md"]),
    "manual": ("auditor.app.manual.pages", ["manual"]),
    "review": ("auditor.reports.review.show_review", ["review", QUARRY / "plan.yaml"]),
    "verify": ("auditor.app.verifying.load", ["verify", ROOT / "README.md"]),
}
"""For each command something that it calls, and how it is called."""


def failing(error: BaseException, when: Callable[..., bool] = lambda *_: True, otherwise: Any = None) -> Any:
    """Return a function that raises an error where its arguments are such, and else does what it always did."""

    def fail(*arguments: Any, **options: Any) -> Any:
        if when(*arguments):
            raise error
        return otherwise(*arguments, **options)

    return fail


def test_every_command_is_here():
    assert set(LIBRARY) == set(COMMANDS)


@pytest.mark.parametrize("command", LIBRARY)
def test_what_a_command_did_not_foresee_is_told_and_ends_with_2(
    command: str, call: Caller, monkeypatch: pytest.MonkeyPatch
):
    target, arguments = LIBRARY[command]
    for error in UNFORESEEN:
        monkeypatch.setattr(target, failing(error))
        ended = call(*arguments)
        assert (ended.code, ended.out) == (2, ""), error
        name = type(error).__name__
        assert re.fullmatch(
            rf"auditor: {command} was not completed: this is a fault of auditor \({name} at auditor/[\w/]+\.py:\d+\): "
            rf"{re.escape(REPORT)}\n",
            ended.err,
        ), ended.err


def test_a_command_that_cannot_be_imported_ends_with_2(call: Caller, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(COMMANDS, "gone", "A command whose module is missing.")
    ended = call("gone")
    assert ended.code == 2
    assert "ModuleNotFoundError" in ended.err


def test_whoever_interrupts_a_command_gets_130(call: Caller, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("auditor.app.demo.demo_report", failing(KeyboardInterrupt()))
    assert call("demo").code == 130


def test_whoever_ends_the_input_instead_of_giving_a_password_gets_130(call: Caller, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("auditor.cli.streams.Outlet.isatty", lambda _: True)
    monkeypatch.setattr("getpass.getpass", failing(EOFError()))
    monkeypatch.setattr("auditor.capture.credentials.system_keyring", lambda: None)
    assert call("capture", QUARRY / "plan.yaml", "--out", "unused", "--ssh-config", "/dev/null").code == 130


def test_the_place_of_an_error_is_in_this_package_where_it_passed_through_it():
    with pytest.raises(ValueError, match="Expecting") as elsewhere:
        json.loads("{")
    assert place_of(elsewhere.value) == "JSONDecodeError"
    with pytest.raises(ValueError, match="not a VLAN") as here:
        vlan_id("x")
    assert re.fullmatch(r"ValueError at auditor/core/values\.py:\d+", place_of(here.value))


def of_core1(*arguments: Any) -> bool:
    """Return whether any argument is about the clinic's core switch."""
    return any("core1" in {getattr(a, "device", ""), getattr(a, "name", "")} for a in arguments)


def knows_core1(_: object, known: Any) -> bool:
    """Return whether anything is known of the clinic's core switch."""
    return known["core1"].observed is not None


def names_core1(findings: Any, _: object) -> bool:
    """Return whether any finding is one of the clinic's core switch."""
    return any(finding.device == "core1" for finding in list(findings))


def reads_core1(_: object, files: Any) -> bool:
    """Return whether any file of a capture is the clinic's core switch's."""
    return any(file.name.startswith("core1") for file in files)


STAGES: dict[str, tuple[str, Callable[..., bool]]] = {
    "capture": ("auditor.capture.files.SavedCaptures.capture", lambda _, device: device == "core1"),
    "reading": ("auditor.app.auditing.read", reads_core1),
    "judging": ("auditor.app.auditing.judge", of_core1),
    "findings": (
        "auditor.app.auditing.result_of",
        lambda *arguments: arguments[1].device == "core1" and arguments[3] is not None,
    ),
    "corrections": (
        "auditor.app.auditing.with_corrections",
        lambda plan, judgement, reading, findings: of_core1(*findings),
    ),
    "service paths": ("auditor.app.auditing.services_of", knows_core1),
    "effects": ("auditor.app.auditing.explained", names_core1),
}
"""Where an audit of a device may fail: what is called there, and whether it is about the core switch of the clinic."""


def replaced(monkeypatch: pytest.MonkeyPatch, target: str, error: BaseException, when: Callable[..., bool]) -> None:
    """Let a function raise an error where its arguments are such."""
    where, _, name = target.rpartition(".")
    holder: Any = __import__("importlib").import_module(where.removesuffix(".SavedCaptures"))
    holder = holder.SavedCaptures if where.endswith("SavedCaptures") else holder
    monkeypatch.setattr(holder, name, failing(error, when, getattr(holder, name)))


def test_nothing_is_proposed_where_nothing_shows_it(call: Caller, monkeypatch: pytest.MonkeyPatch):
    replaced(monkeypatch, STAGES["corrections"][0], WITHIN[0], lambda *_: True)
    arguments = ["audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--no-history"]
    assert call(*arguments).code == call(*arguments, "--quiet").code == 1


@pytest.mark.slow
@pytest.mark.parametrize("stage", STAGES)
def test_what_goes_wrong_within_a_device_costs_that_device_alone(
    stage: str, call: Caller, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    arguments = ["audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--no-history"]
    target, when = STAGES[stage]
    written = ["--out", tmp_path / "before"] if stage == "corrections" else []
    for error in WITHIN:
        with monkeypatch.context() as patched:
            replaced(patched, target, error, when)
            ended = call(*arguments, *written)
        assert ended.code == 3, (error, ended.err)
        place = rf"\({type(error).__name__} at auditor/[\w/]+\.py:\d+\)"
        assert re.search(
            rf"core1  not readable: this is a fault of auditor {place}: {re.escape(REPORT)}; "
            "until then, check this device by hand\n",
            ended.out,
        )
        assert SECRET not in ended.out + ended.err
    before = audit(load_plan(QUARRY / "plan.yaml"), SavedCaptures(QUARRY / "drifted"))
    with monkeypatch.context() as patched:
        replaced(patched, target, WITHIN[0], when)
        assert call(*arguments, "--out", tmp_path).code == 3
        assert call("verify", tmp_path / "evidence.zip").code == 0
    told = Report.model_validate_json((tmp_path / "report.json").read_text())
    devices = {device.name: device for device in told.devices}
    assert devices["core1"].outcome == "not readable"
    assert devices["core1"].counts.unverified == devices["core1"].counts.planned > 0
    assert all(devices[d.name].counts == d.counts for d in before.devices if d.name != "core1")
    assert {f.id for f in told.findings} == {f.id for f in before.findings if f.device != "core1"}
    assert not [path for path in tmp_path.rglob("*") if path.is_file() and SECRET.encode() in path.read_bytes()]


def test_a_device_that_nothing_can_be_redacted_of_is_not_readable_and_not_in_the_evidence(
    call: Caller, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """The secrets are taken out with what is read of the capture: where that fails, nothing of it may be kept."""
    replaced(
        monkeypatch,
        "auditor.capture.masking.without_secrets",
        ValueError(SECRET),
        lambda platform, files, *_: reads_core1(platform, files),
    )
    ended = call("audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted", "--no-history", "--out", tmp_path)
    told = json.loads((tmp_path / "report.json").read_text())
    assert ended.code == 3
    assert [d["name"] for d in told["devices"] if d["outcome"] == "not readable"] == ["core1"]
    assert b"captures/core1/" not in (tmp_path / "evidence.zip").read_bytes()
    assert call("verify", tmp_path / "evidence.zip").code == 0


@pytest.mark.slow
@pytest.mark.parametrize("target", ["app.rounds.audit", "app.publishing.view_of", "reports.terminal.show"])
def test_what_goes_wrong_within_a_site_costs_that_site_alone(
    target: str, call: Caller, two: Two, monkeypatch: pytest.MonkeyPatch
):
    def of_the_clinic(subject: Any, *_: Any) -> bool:
        named = getattr(subject, "data", None) or getattr(subject, "report", None) or subject
        return "Quarry" in str(named.site)

    two.drift("gw1.rsc")
    for number, error in enumerate(WITHIN):
        out = ["--out", two.folder / "out"] if number == 0 else []
        with monkeypatch.context() as patched:
            replaced(patched, f"auditor.{target}", error, of_the_clinic)
            ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, *out)
        assert ended.code == 2
        assert (
            f"auditor: {two.clinic}: not completed: this is a fault of auditor ({type(error).__name__} at " in ended.err
        )
        assert SECRET not in ended.out + ended.err
        assert "Harbour Street Bakery" in ended.out
    assert json.loads((two.folder / "out" / "bakery" / "report.json").read_text())["verdict"] == "conforming"


def test_a_format_that_fails_costs_itself_alone(call: Caller, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("auditor.reports.html.pictures", failing(ValueError(SECRET)))
    ended = call("audit", BAKERY / "plan.yaml", "--captures", BAKERY / "conforming", "--out", tmp_path)
    assert ended.code == 2
    assert "report.html was not made: this is a fault of auditor (ValueError at " in ended.err
    assert "CONFORMING" in ended.out
    names = {path.name for path in tmp_path.iterdir()}
    assert {"report.json", "report.md", "findings.csv", "evidence.zip"} <= names
    assert "report.html" not in names


def test_a_history_that_fails_costs_neither_audits_nor_reports(call: Caller, two: Two, monkeypatch: pytest.MonkeyPatch):
    for target in ("History.add", "History.begin"):
        with monkeypatch.context() as patched:
            patched.setattr(f"auditor.history.{target}", failing(OverflowError(SECRET)))
            out = two.folder / target
            ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, "--out", out, "--quiet")
        assert (ended.code, ended.out) == (2, "")
        assert "this is a fault of auditor (OverflowError at " in ended.err
        assert {path.name for path in out.iterdir()} == {"clinic", "bakery"}
