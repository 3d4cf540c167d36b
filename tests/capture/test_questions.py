"""Nothing is sent into a question: what a device asks is told, and it is not captured."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from auditor.capture import screen, session
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import CaptureRun, Limits
from auditor.platforms import catalogue
from tests.capture.test_faults import ANSWERS, LATE, Way, time_is_over, way_to, whole
from tests.checks import each
from tests.effort import amount, share
from tests.lab.asking import asking
from tests.lab.shells import ENABLE, PASSWORD, Lab, Shell, lab

ENGLISH = {
    "an expired password": "WARNING: Your password has expired.\nYou must change your password now.\nNew password: ",
    "a new password, as RouterOS asks": "Change your password\n\nnew password> ",
    "the old password once more": "Password change required.\nOld Password:",
    "a forced change": "You are forced to change your password. Please input a new password.\nNew Password:",
    "the first start": "Default login detected. Do you want to change the administrator password now? [Y/n]: ",
    "a licence": "END USER LICENSE AGREEMENT\n1. Scope ...\nDo you accept the terms of the license? (yes/no) ",
    "a licence to look at": "Do you want to see the software license? [Y/n]: ",
    "a licence and a key": "By using this software you accept its licence.\n\nPress any key to continue",
    "a licence and Return": "END USER LICENSE AGREEMENT\nPress Enter to accept the licence, q to leave --More--",
    "a licence, Return, and more": "More terms apply to this licence.\npress enter to continue",
    "a disclaimer": "Authorised use only. All activity is recorded.\nI have read the disclaimer and agree [y/n]",
    "setting up": "--- System Configuration Dialog ---\nEnter the initial configuration dialog? [yes/no]: ",
    "setting up by itself": "Would you like to terminate autoinstall? [yes]: ",
    "a menu": "1) Status\n2) Reboot\n3) Shell\nEnter your choice: ",
    "a restart": "A new firmware was staged. Reboot now to activate it (y/n)?",
    "a user once more": "User Name:",
    "a second factor": "Enter your verification code: ",
    "a sentence": "Somebody else is logged in at the console and you have to wait until the session is free",
    "a full screen": "\x1b[2J\x1b[1;1H\x1b[7mAccept\x1b[0m \x07 or decline the \x9bterms [ ]",
}
OTHER = {
    "German": "Das Kennwort ist abgelaufen und muss geändert werden.\nNeues Kennwort: ",
    "French": "Acceptez-vous les conditions de la licence ? [O/n] ",
    "Japanese": "パスワードの有効期限が切れました。\n新しいパスワード:",
}
QUESTIONS = {**ENGLISH, **OTHER}
SAME_LOOK = ("new password> ", "(y/n)> ", "Password# ", "login> ", "accept# ", "Continue(yes/no)> ", "New Password> ")


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait less long for an answer that does not come."""
    monkeypatch.setattr(session, "_UNANSWERED", 1.2)


def all_at_once(ways: list[Way], platforms: list[str], seconds: float = 300.0) -> list[Captured | NotCaptured]:
    """Read all devices in one round."""
    jobs = [replace(way.job(), platform=catalogue.get(name)) for way, name in zip(ways, platforms, strict=True)]
    found = CaptureRun(Limits(workers=len(jobs), device_seconds=seconds, pause_seconds=0.01)).run(jobs)
    return [found["site", way.name].captured for way in ways]


def test_no_question_at_the_login_is_answered(devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """As they are worded by many a device (common practice, no source), at once or slowly, at once or after a while."""
    seconds = amount(quick=3, ci=6, long=6)
    monkeypatch.setattr(session, "_UNANSWERED", seconds)  # all of them are asked by one thread
    ways: list[Way] = []
    shells, platforms, wanted = [], [], []
    names = itertools.cycle(catalogue.names())
    for text in share(QUESTIONS.values(), quick=3):
        for end, pace, pause in (("", 0, 0), ("\n", 0, 1.6), ("", 0.05, 1.6), ("\n\n", 0.05, 0)):
            shell = Shell(questions={"login": text + end}, pace=(9, pace), pause=pause)
            shells.append(shell)
            ways.append(way_to(devices, shell, tmp_path, name=f"sw{len(ways)}"))
            platforms.append(next(names))
            wanted.append(text)
    assert {"hp_procurve", "cisco_ios"} <= set(platforms)
    with time_is_over(2.5 * seconds, lambda: all(shell.sessions for shell in shells)):
        every = all_at_once(ways, platforms)
    for captured, shell, text, platform in zip(every, shells, wanted, platforms, strict=True):
        if platform == "hp_procurve" and "any key" in text:
            continue  # of these switches it is known that they ask for it, and that it agrees to nothing
        assert isinstance(captured, NotCaptured), text
        assert (bytes(shell.received), shell.sessions) == (b"", 1), text
        assert last_of(text) in captured.reason, captured.reason
        assert "nothing was answered: log in by hand" in captured.reason
        assert captured.reason.isprintable()


def last_of(text: str) -> str:
    """Return the words at the end of a question."""
    return text.strip().rpartition("\n")[2].rpartition("\x9b")[2][-40:].strip()


def test_every_platform_s_prompt_is_known_from_a_question():
    """The prompts are those that the dialects' own handbooks show, the questions look like them."""
    prompts = {
        "arista_eos": ["sw1#", "sw1.lab>", "sw1(s1)#"],
        "aruba_aoscx": ["core-1#", "core-1> "],
        "cisco_ios": ["core1#", "core1>", "ap-2.example#"],
        "cisco_s300": ["switch1a2b3c#", "sw1>"],
        "fortinet": ["fw1 # ", "fw1 $ ", "fw1 (global) # "],
        "hp_procurve": ["HP-2530-24G# ", "ProCurve Switch 2626# ", "sw-1> "],
        "juniper_junos": ["tech@ex1> ", "root@ex1% ", "tech@> "],
        "mikrotik_routeros": ["[admin@MikroTik] > ", "[tech+ct@Core #1] >", "[admin@x] /ip address> "],
        "openwrt": ["root@OpenWrt:~# ", "tech@ap-1:/etc$ "],
        "tplink_jetstream": ["TL-SG3428>", "sw1#"],
        "ubiquiti_edgerouter": ["ubnt@gw:~$ ", "tech@gw1:~$"],
        "vyos": ["vyos@vyos:~$ ", "tech@r1$"],
    }
    assert set(prompts) == set(catalogue.names())
    for name, texts in prompts.items():
        known = screen.Prompt(catalogue.get(name).pattern("prompt"))
        for text in texts:
            assert known.at_end(f"Welcome\r\n\r\n{text}".encode()) == text.strip(), (name, text)
        for question in SAME_LOOK:
            assert not known.at_end(f"Welcome\r\n{question}".encode()), (name, question)
        for text in QUESTIONS.values():
            assert not known.at_end(text.replace("\n", "\r\n").encode()), (name, text)
        assert not known.at_end(f"{texts[0].strip()} 1: do you accept the licence? [y/n]".encode()), name


def test_no_question_that_looks_like_a_prompt_is_answered(devices: Lab, tmp_path: Path):
    ways: list[Way] = []
    shells = []
    for name, question in itertools.product(("hp_procurve", "cisco_ios", "fortinet"), SAME_LOOK):
        shells.append(Shell(questions={"login": f"Your password has expired.\n{question}"}))
        ways.append(way_to(devices, shells[-1], tmp_path, name=f"{name}{len(ways)}"))
    for captured, shell in zip(all_at_once(ways, [way.name.rstrip("0123456789") for way in ways]), shells, strict=True):
        assert isinstance(captured, NotCaptured)
        assert bytes(shell.received) == b""
        assert shell.questions["login"].split("\n")[1].strip() in captured.reason


def test_what_is_known_to_wait_for_any_key_is_given_a_blank(devices: Lab, tmp_path: Path):
    """HP's switches greet so (from memory); netmiko's driver for them answers it, too."""
    greeting = "Please register your products.\r\n\r\nPress any key to continue"
    shells = [Shell(greeting=greeting, answers=ANSWERS), Shell(greeting=greeting, answers=ANSWERS)]
    ways = [way_to(devices, shell, tmp_path, name=f"sw{number}") for number, shell in enumerate(shells)]
    known, other = all_at_once(ways, ["hp_procurve", "cisco_ios"])
    assert isinstance(known, Captured)
    assert isinstance(other, NotCaptured)
    assert [bytes(shell.keys) for shell in shells] == [b" ", b""]
    assert "Press any key to continue" in other.reason


AFTER_ENABLE: dict[str, tuple[dict[str, Any], bytes]] = {
    "a new secret in place of it": ({"enable_asks": "New password: "}, b"enable"),
    "an expired one": ({"enable_asks": "Your secret has expired, choose another.\nPassword: "}, b"enable"),
    "a user": ({"enable_asks": "Username: "}, b"enable"),
    "a change behind it": (
        {"questions": {"enable": "Secret expired. Change it now? [y/n] "}},
        b"enable\n" + ENABLE.encode(),
    ),
    "a new one behind it": ({"questions": {"enable": "New password:\n"}}, b"enable\n" + ENABLE.encode()),
    "a licence behind the pager": (
        {"enable": "", "questions": {"terminal width 511": "Accept the licence? (yes/no)"}, "pager": "terminal width"},
        b"enable\nterminal length 0\nterminal width 511",
    ),
}


def test_no_question_behind_a_line_is_answered(devices: Lab, tmp_path: Path):
    shells = {
        name: Shell(answers=ANSWERS, low_prompt="core1>", **options) for name, (options, _) in AFTER_ENABLE.items()
    }
    ways = [way_to(devices, shell, tmp_path, name=f"sw{number}") for number, shell in enumerate(shells.values())]
    found = dict(zip(shells, all_at_once(ways, ["cisco_ios"] * len(ways)), strict=True))
    each(shells, lambda name: not_answered(found[name], shells[name], AFTER_ENABLE[name][1]))


def not_answered(captured: Captured | NotCaptured, shell: Shell, sent: bytes) -> None:
    assert isinstance(captured, NotCaptured)
    assert bytes(shell.received) == sent + b"\n"
    asked = (*shell.questions.values(), shell.enable_asks)[0]
    assert asked.strip().rpartition("\n")[2] in captured.reason
    assert ENABLE not in captured.reason


@pytest.mark.slow
def test_a_question_before_an_answer_is_told_when_the_time_is_over(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS, questions={"show running-config": "Configuration was changed. Save it? [y/n]"})
    way = way_to(devices, shell, tmp_path, limits=LATE)
    with time_is_over(5, lambda: b"running-config\n" in shell.received):
        captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert "Save it? [y/n]\" after 'show running-config'" in captured.reason
    assert bytes(shell.received).endswith(b"show running-config\n")


def test_the_question_for_the_secret_may_stand_behind_a_log_message(devices: Lab, tmp_path: Path):
    asks = "*Nov 20 09:12:44.123: %SYS-5-CONFIG_I: Configured from console by tech\nPassword: "
    whole(way_to(devices, Shell(answers=ANSWERS, low_prompt="core1>", enable_asks=asks), tmp_path).read())


def test_a_secret_that_is_asked_for_once_more_was_refused(devices: Lab, tmp_path: Path):
    """As on IOS, which asks up to three times (from memory)."""
    shell = Shell(low_prompt="core1>", questions={"enable": "Password: "})
    captured = way_to(devices, shell, tmp_path, enable="not-the-enable").read()
    assert isinstance(captured, NotCaptured)
    assert "refused the secret" in captured.reason
    assert bytes(shell.received) == b"enable\nnot-the-enable\n"


def test_a_question_is_told_without_secrets(devices: Lab, tmp_path: Path):
    text = f"\x1b[31mThe password {PASSWORD} of technician has expired, its secret {ENABLE}\x07 too.\nNew one\x9b: "
    shell = Shell(questions={"login": "x" * 500 + text})
    captured = way_to(devices, shell, tmp_path).read()
    assert isinstance(captured, NotCaptured)
    assert "New one" in captured.reason
    assert captured.reason.isprintable()
    assert len(captured.reason) < 400
    for secret in (PASSWORD, ENABLE):
        assert secret not in captured.reason


@pytest.mark.parametrize(
    "challenges",
    [
        [("Password expired", "", "New password: ")],
        [("", "", "Password: "), ("", f"{PASSWORD} has expired", "New password: "), ("", "", "Retype new password: ")],
        [("", "", "Verification code: ")],
        [("", "Kennwort abgelaufen", "Neues Kennwort: ")],
    ],
)
def test_no_question_of_the_login_itself_is_answered(challenges, tmp_path: Path):
    """Keyboard-interactive logins (RFC 4256)."""
    with asking(challenges) as device:
        (tmp_path / "known").write_text(device.known_host)
        captured = Way(device.port, tmp_path / "known").read()
    assert isinstance(captured, NotCaptured)
    assert device.answered == ([PASSWORD] if challenges[0][2] == "Password: " else [])
    assert challenges[len(device.answered)][2].strip() in captured.reason
    assert PASSWORD not in captured.reason


@pytest.mark.parametrize(
    "asked", ["Password: ", "(technician@core1) Password:", "technician's password: ", "Enter password"]
)
def test_the_password_is_answered_where_it_is_asked_for(asked: str, tmp_path: Path):
    with asking([("", "", asked)]) as device:
        (tmp_path / "known").write_text(device.known_host)
        captured = Way(device.port, tmp_path / "known", limits=LATE).read()
    assert isinstance(captured, NotCaptured)
    assert device.answered == [PASSWORD]
    assert "refused the login" not in captured.reason
    assert "nothing was answered" not in captured.reason


def test_a_password_that_the_server_wants_changed_is_not_changed(devices: Lab, tmp_path: Path):
    """SSH_MSG_USERAUTH_PASSWD_CHANGEREQ, RFC 4252 section 8."""
    way = way_to(devices, Shell(expired=True), tmp_path)
    captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert "it asks for a new password" in captured.reason
    assert "tries" not in captured.reason


def test_a_pager_is_answered_once_each_time_it_shows(devices: Lab, tmp_path: Path):
    """One that takes its time is not sent another blank, which would go into whatever comes next."""
    shell = Shell(answers=ANSWERS, page=100, pager="", key_delay=0.5)
    whole(way_to(devices, shell, tmp_path).read())
    assert bytes(shell.keys) == b" " * ((ANSWERS["show running-config"].count("\n") - 1) // 100)
    assert shell.keys
    assert not [line for line in bytes(shell.received).split(b"\n") if line.startswith(b" ")]


PAGERS = (
    "--More--",
    " --More-- ",
    "<--- More --->",
    "-- MORE --, next page: Space, next line: Enter, quit: Control-C",
    "--More or (q)uit",
    "---(more)---",
    "---(more 45%)---",
    "-- [Q quit|D dump|down]",
    "Press any key to continue (Q to quit)",
    "More: <space>,  Quit: q or CTRL+Z, One line: <return>",
)


@pytest.mark.parametrize("row", PAGERS)
def test_a_pager_is_known(row: str):
    assert screen.is_pager(row)


@pytest.mark.parametrize(
    "row",
    [
        "Accept? --More--",
        "Press Enter to accept the licence, q to leave --More--",
        "Press any key to reboot",
        "press any key to erase the configuration",
        "--More-- [y/n]",
        "Do you want --more--?",
        "no more questions",
        "press enter to continue and agree",
        "hit any key to stop autoboot",
    ],
)
def test_what_asks_for_something_is_no_pager(row: str):
    assert not screen.is_pager(row)
