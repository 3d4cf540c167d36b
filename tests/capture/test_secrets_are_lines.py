"""A secret, user or key that is more than one line is refused before anything is connected to, and not repeated."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor.app.capturing import Access, capture
from auditor.capture.credentials import SERVICE, Credentials, Wallet
from auditor.cli import main
from auditor.errors import UsageError
from auditor.plan.loader import parse
from tests.lab.shells import Lab, Shell, lab

MADE_UP = "not0a0secret"
STRAY = [
    *(chr(number) for number in range(0x20)),
    *(chr(number) for number in range(0x7F, 0xA0)),
    "\u2028",
    "\u2029",
    "\udc85",
    "\ud800",
]
"""All of C0, DEL and C1 (ISO/IEC 6429), Unicode's line and paragraph separators, and halves of a character."""
HARMLESS = [
    "pa ss",
    " x ",
    "ä€ß",
    "#!?'\"\\",
    "a\u00a0b",
    "\u200b",
    "-x",
    "%h",
    "$(reload)",
    ";reload",
    "``",
    "\U0001f511",
]
ENDS = ["\n", "\r\n", "\r"]
PLAN = (
    "format: 1\nsite: Quarry Road\nreference: QRC-01\nsubnets: {a: {vlan: 2, prefix: 10.0.0.0/24}}\n"
    "devices: {core1: {role: core, platform: cisco_ios, address: 127.0.0.1}}\n"
)


def wallet(what: str, value: str, source: str) -> Wallet:
    """Return a wallet that has a value from a source."""
    environment = {"AUDITOR_USER": "technician", f"AUDITOR_{what}_QRC_01_CORE1": value} if source == "variable" else {}
    if source == "variable":
        return Wallet("QRC-01", environment)
    environment = {"AUDITOR_USER": "technician"}
    if source == "keyring":
        return Wallet("QRC-01", environment, keyring=lambda service, name: value if name == "QRC-01" else None)
    return Wallet("QRC-01", environment, ask=lambda _: value)


SOURCES = {
    "variable": ("AUDITOR_{what}_QRC_01_CORE1", ("PASSWORD", "ENABLE", "USER", "KEY")),
    "keyring": (f"the keyring's entry 'QRC-01' of {SERVICE!r}", ("PASSWORD",)),
    "person": ("the password that was typed for technician", ("PASSWORD",)),
}


def got(found: Credentials, what: str) -> str | None:
    return {"PASSWORD": found.password, "ENABLE": found.enable, "USER": found.user, "KEY": found.key_file}[what]


@pytest.mark.parametrize("source", SOURCES)
def test_control_characters_are_refused_by_the_source_s_name(source: str):
    name, whats = SOURCES[source]
    for what in whats:
        for sign in STRAY:
            values = [f"{MADE_UP}{sign}reload", f"{sign}{MADE_UP}", f"{MADE_UP}{sign}{sign}"]
            for value in [*values, *([f"{MADE_UP}{sign}"] if sign not in ENDS else [])]:
                with pytest.raises(UsageError) as told:
                    wallet(what, value, source).of("core1")
                message = str(told.value)
                assert name.format(what=what) in message
                assert "set it again without" in message
                assert MADE_UP not in message
                assert "reload" not in message
                assert message.isprintable()


@pytest.mark.parametrize("source", SOURCES)
def test_one_line_end_is_taken_off_and_the_rest_is_left_as_it_is(source: str):
    for what in SOURCES[source][1]:
        for text in (MADE_UP, *HARMLESS):
            for end in ("", *ENDS):
                assert got(wallet(what, text + end, source).of("core1"), what) == text


def test_of_two_line_ends_one_stays_and_is_refused():
    for ends in ("\n\n", "\r\n\r\n", "\n\r\n", "\r\r", "\n\r"):
        with pytest.raises(UsageError):
            wallet("ENABLE", MADE_UP + ends, "variable").of("core1")


def test_nothing_but_a_line_end_is_nothing():
    found = Wallet("x", {"AUDITOR_PASSWORD_CORE1": "\n", "AUDITOR_PASSWORD": "p", "AUDITOR_ENABLE": "\r\n"}).of("core1")
    assert (found.password, found.enable) == ("p", None)


def access(devices: Lab, home: Path, port: int, **environment: str) -> Access:
    """Return an access by way of a jump host that is the device itself, as far as anybody gets."""
    (home / "known").write_text(devices.known_hosts)
    config = home / "config"
    config.write_text(
        f"Host 127.0.0.1\n  Port {port}\n  ProxyJump bastion\nHost bastion\n  HostName 127.0.0.2\n  Port {port}\n"
    )
    return Access(config, home / "known", environment={"AUDITOR_USER": "technician", **environment})


@pytest.mark.parametrize(
    "variable", ["PASSWORD", "ENABLE", "USER", "KEY", "PASSWORD_BASTION", "USER_BASTION", "KEY_BASTION"]
)
def test_nothing_is_connected_to(variable: str, tmp_path: Path):
    with lab() as devices:
        shell = Shell()
        port = devices.start(shell)
        given = access(devices, tmp_path, port, **{f"AUDITOR_{variable}": f"en{MADE_UP}\nreload"})
        with pytest.raises(UsageError, match=f"AUDITOR_{variable}:"):
            capture([parse("plan.yaml", PLAN.encode())], given)
        assert (shell.connections, shell.sessions, bytes(shell.received)) == (0, 0, b"")


def test_the_command_ends_with_2_and_says_which_variable(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AUDITOR_ENABLE_QRC_01", f"{MADE_UP}\r\nreload")
    monkeypatch.setenv("AUDITOR_PASSWORD", "not-the-real-password")
    Path("plan.yaml").write_text(PLAN)
    with lab() as devices:
        shell = Shell(prompt="core1>")
        Path("config").write_text(f"Host 127.0.0.1\n  Port {devices.start(shell)}\n")
        Path("known").write_text(devices.known_hosts)
        for command in (["audit", "plan.yaml"], ["capture", "plan.yaml", "--out", "captures"]):
            with pytest.raises(SystemExit) as ended:
                main([*command, "--ssh-config", "config", "--known-hosts", "known"])
            shown = capsys.readouterr()
            assert ended.value.code == 2
            assert shown.err.startswith("auditor: AUDITOR_ENABLE_QRC_01: ")
            assert MADE_UP not in shown.out + shown.err
            assert not Path("captures").exists()
        assert shell.connections == 0
