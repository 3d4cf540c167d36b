"""What is on the wire: whole lines of the platform's data and the keys that it names, logged on both sides."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from auditor.capture import screen, session
from auditor.capture.allowlist import Allowlist
from auditor.capture.credentials import Credentials
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import CaptureRun, Job
from auditor.platforms import catalogue
from auditor.platforms.definition import any_of
from tests.capture.rounds import prompt_of
from tests.capture.test_faults import ANSWERS, LATE, QUICK, Way, time_is_over, way_to, whole
from tests.lab import openssh
from tests.lab.asking import asking
from tests.lab.shells import ENABLE, PASSWORD, Lab, Shell, lab


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


@pytest.fixture
def sent_to(monkeypatch: pytest.MonkeyPatch) -> dict[Allowlist, bytearray]:
    """What leaves this machine, for the command line of each device by itself."""
    found: dict[Allowlist, bytearray] = {}
    release = Allowlist.release

    def noted(self: Allowlist, data: bytes) -> None:
        release(self, data)
        found.setdefault(self, bytearray()).extend(data)

    monkeypatch.setattr(Allowlist, "release", noted)
    return found


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> bytearray:
    """All that leaves this machine for a device's command line."""
    found = bytearray()
    release = Allowlist.release

    def noted(self: Allowlist, data: bytes) -> None:
        release(self, data)
        found.extend(data)

    monkeypatch.setattr(Allowlist, "release", noted)
    return found


def test_each_line_is_in_the_platform_s_data_on_both_sides(
    devices: Lab, tmp_path: Path, sent_to: dict[Allowlist, bytearray]
):
    shells: dict[str, Shell] = {}
    jobs = []
    for name in catalogue.names():
        platform = catalogue.get(name)
        low = "core1>" if platform.live.privilege else ""
        shells[name] = Shell(prompt=prompt_of(name), low_prompt=low, answers=dict.fromkeys(platform.commands, "x"))
        jobs.append(replace(way_to(devices, shells[name], tmp_path, name=name).job(), platform=platform))
    found = CaptureRun(replace(QUICK, workers=len(jobs))).run(jobs)
    assert sorted(map(bytes, sent_to.values())) == sorted(bytes(shell.received) for shell in shells.values())
    for name, shell in shells.items():
        assert isinstance(found["site", name].captured, Captured), name
        platform = catalogue.get(name)
        *lines, last = re.split(r"[\r\n]", shell.received.decode())
        raised = [platform.live.privilege, ENABLE] if platform.live.privilege else []
        assert lines == [*raised, *platform.live.pager, *platform.commands, *platform.live.leave], name
        assert last == "", name


@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
def test_a_terminal_makes_one_line_of_each(tmp_path: Path, sent: bytearray):
    """Behind a pseudo-terminal of the operating system, which turns line ends into others."""
    home = tmp_path / "sshd"
    log = tmp_path / "log"
    script = tmp_path / "shell"
    script.write_text(
        f"#!/bin/sh\nprintf 'core1#'\nwhile IFS= read -r line; do\n printf '%s|\\n' \"$line\" >> {log}\n"
        " [ \"$line\" = exit ] && exit\n printf 'x\\nend\\ncore1#'\ndone\n"
    )
    script.chmod(0o755)
    with openssh.sshd(home, str(script)) as server:
        (tmp_path / "known").write_text(server.known_host)
        way = way_to_server(server, tmp_path / "known")
        found = CaptureRun(replace(QUICK, device_seconds=300)).run([way])
    assert isinstance(found["site", "core1"].captured, Captured), found
    live, commands = catalogue.get("cisco_ios").live, catalogue.get("cisco_ios").commands
    lines = [*live.pager, *commands, *live.leave]
    assert log.read_text().splitlines() == [f"{line}|" for line in lines]
    assert sent.decode().splitlines() == lines


def way_to_server(server: openssh.Server, known: Path) -> Job:

    job = Way(server.port, known).job()
    credentials = Credentials(server.user, key_file=str(server.key_file), agent=False)
    return replace(job, target=replace(job.target, credentials=credentials))


def test_no_return_goes_into_a_question_behind_a_prompt(
    devices: Lab, tmp_path: Path, sent_to: dict[Allowlist, bytearray]
):
    """A Return takes what is offered, as in ``[confirm]`` of IOS (from memory); a line that is underway does not."""
    ios = catalogue.get("cisco_ios")
    shells = [
        Shell(answers=ANSWERS, afterwards={command: "Reload now? [confirm]"}, pause=pause)
        for command in ios.commands
        for pause in (0.0, 0.4)
    ]
    ways = [way_to(devices, shell, tmp_path, name=f"sw{number}") for number, shell in enumerate(shells)]
    CaptureRun(replace(QUICK, device_seconds=4, workers=len(ways))).run([way.job() for way in ways])
    assert len(sent_to) >= len(shells)
    for log in (*sent_to.values(), *(shell.received for shell in shells)):
        assert set(log.decode().split("\n")[:-1]) <= {*ios.live.pager, *ios.commands, *ios.live.leave}


BARE = re.compile(re.escape(b"core1#"))
NOISE = any_of(catalogue.get("cisco_ios").patterns("noise"))
LOG = b"*Nov 20 09:12:44.123: %LINK-3-UPDOWN: Interface GigabitEthernet1/0/9, changed state to down\r\n"


@pytest.mark.parametrize(
    ("data", "wanted"),
    [
        (b"show vlan\r\n1 default\r\ncore1#", screen.Echo.FIRST),
        (b"core1#show vlan\r\n1 default\r\ncore1#", screen.Echo.FIRST),
        (b"\r\ncore1#" + LOG + b"core1#show vlan\r\n1 default\r\ncore1#", screen.Echo.FIRST),
        (b"\x1b[24;1Hcore1#s\rcore1#sh\rcore1#show vlan\x1b[K\r\n1 default\r\ncore1#", screen.Echo.FIRST),
        (b"show vlan\r\ncore1#show vlan\r\n1 default\r\ncore1#", screen.Echo.FIRST),
        (b"20 staff\r\ncore1#show vlan\r\n1 default\r\ncore1#", screen.Echo.BEHIND_TEXT),
        (b"show vlan\r\n20 staff\r\ncore1#show vlan\r\n1 default\r\ncore1#", screen.Echo.TWICE),
        (b"show vlan\r\nshow vlan\r\nshow vlan is a command\r\ncore1#", screen.Echo.FIRST),
        (b"1 default\r\ncore1#", screen.Echo.NONE),
        (b"", screen.Echo.NONE),
    ],
)
def test_the_echo_tells_whether_the_device_was_waiting(data: bytes, wanted: screen.Echo):
    """A terminal that echoes at once what is typed, and a device that echoes when it reads it."""
    assert screen.echo_of("show vlan", data, BARE, NOISE) is wanted


@pytest.mark.parametrize("command", catalogue.get("cisco_ios").commands)
def test_an_answer_that_only_stopped_is_not_taken_for_whole(
    command: str, devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """Whatever the silence was: here next to none is waited for."""
    for name in ("_QUIET_BEHIND_AN_ANSWER", "_QUIET_WITHOUT_AN_END"):
        monkeypatch.setattr(session, name, 0.001)
    text = "\n".join(["VLAN Name", *(f"{number} n{number}" for number in range(2, 40))])
    shell = Shell(answers={**ANSWERS, command: text}, redraw_after=6)
    captured = way_to(devices, shell, tmp_path, limits=replace(QUICK, device_seconds=300, tries=1)).read()
    if isinstance(captured, Captured):  # the silence in the middle was over before it was looked at
        kept = b"".join(file.data for file in captured.files).decode()
        assert all(line in kept for line in text.splitlines())
    else:
        assert "in the middle of its answer to" in captured.reason


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session, "_UNANSWERED", 0.4)


@pytest.mark.usefixtures("impatient")
def test_a_blank_that_was_sent_is_told_with_what_asked_for_it(devices: Lab, tmp_path: Path):
    shell = Shell(greeting="Press any key to continue", questions={"login": "Change the password? [y/n] "})
    job = replace(way_to(devices, shell, tmp_path).job(), platform=catalogue.get("hp_procurve"))
    captured = CaptureRun(replace(QUICK, device_seconds=300)).run([job])["site", "core1"].captured
    assert isinstance(captured, NotCaptured)
    assert bytes(shell.keys) == b" "
    assert 'and a blank was sent to "Press any key to continue"; nothing else was answered: log in' in captured.reason
    assert "nothing was answered" not in captured.reason


@pytest.mark.slow
@pytest.mark.usefixtures("impatient")
def test_blanks_that_a_pager_got_are_told(devices: Lab, tmp_path: Path):
    asks = "1\n2\n3\nSave? [y/n] "
    shell = Shell(answers={"show running-config": "1\n2\n3\n4\n5"}, page=2, pager="none", afterwards={})
    shell.answers = {**shell.answers, "show vlan brief": ""}
    shell.questions = {"show vlan brief": asks}
    way = way_to(devices, shell, tmp_path, limits=LATE)
    with time_is_over(3, lambda: b"show vlan brief\n" in shell.received):
        captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert bytes(shell.keys) == b"  "
    assert 'a blank was sent to "--More--" 2 times; nothing else was answered' in captured.reason


@pytest.mark.usefixtures("impatient")
def test_a_secret_that_was_sent_is_told_and_not_repeated(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS, low_prompt="core1>", questions={"enable": "Change it now? [y/n] "})
    captured = way_to(devices, shell, tmp_path, limits=replace(QUICK, device_seconds=300)).read()
    assert isinstance(captured, NotCaptured)
    assert "the secret for 'enable' was sent where it was asked for; nothing else was answered" in captured.reason
    assert ENABLE not in captured.reason


def test_a_password_that_was_answered_is_told(tmp_path: Path):
    with asking([("", "", "Password: "), ("", "", "Verification code: ")]) as device:
        (tmp_path / "known").write_text(device.known_host)

        captured = Way(device.port, tmp_path / "known").read()
    assert isinstance(captured, NotCaptured)
    assert "the password was sent where it was asked for; nothing else was answered" in captured.reason
    assert PASSWORD not in captured.reason


def test_nothing_is_lost_without_the_return(devices: Lab, tmp_path: Path):
    whole(way_to(devices, Shell(answers=ANSWERS), tmp_path, limits=replace(QUICK, device_seconds=300)).read())
