"""Devices that misbehave: each fault has an outcome of its own that says what to do next, and costs only itself."""

from __future__ import annotations

import contextlib
import logging
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest

from auditor.areas import read
from auditor.capture.clock import Clock
from auditor.capture.connection import Target
from auditor.capture.credentials import Credentials, Wallet
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import CaptureRun, Job, Limits, Result
from auditor.capture.reach import direct, open_way
from auditor.capture.routes import Routes
from auditor.capture.sshconfig.lookup import Configuration, Names
from auditor.errors import CaptureFailedError
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from tests.checks import each
from tests.compare.site import NETWORKS
from tests.lab.shells import ENABLE, PASSWORD, USER, Lab, Shell, closed_port, deaf_port, lab

CORE = NETWORKS / "quarry-road" / "conforming" / "core1"
ANSWERS = {
    "show running-config": (CORE / "show_running-config.txt").read_text(),
    "show vlan brief": (CORE / "show_vlan_brief.txt").read_text(),
}
QUICK = Limits(device_seconds=300, pause_seconds=0.01)
"""For what ends by itself, however busy the machine is."""
SHORT = Limits(device_seconds=1.5, pause_seconds=0.01)
"""For what never ends by itself, and is told alike wherever it is then."""


def configuration(captured: Captured) -> str:
    """Return the text of the running configuration."""
    return next(file for file in captured.files if "running" in file.name).data.decode()


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


@dataclass
class Patient(CaptureRun):
    """A round in which the time is short for those devices alone that never end by themselves."""

    silent: tuple[str, ...] = ()
    seconds: float = 4.0

    def _read(self, job: Job, ends: float) -> None:
        brief = job.key[1] in self.silent
        super()._read(job, min(ends, time.monotonic() + self.seconds) if brief else ends)


@contextlib.contextmanager
def time_is_over(seconds: float, when: Callable[[], bool]) -> Iterator[None]:
    """Let the time of a device run from when it has come so far: before that a busy machine may take what it takes."""
    began: list[float] = []
    left = Clock.left

    def counted(self: Clock) -> float:
        if not began and when():
            began.append(time.monotonic())
        return min(left(self), began[0] + seconds - time.monotonic()) if began else left(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Clock, "left", counted)
        yield


@dataclass
class Way:
    """How a test gets at a device."""

    port: int
    known: Path
    password: str = PASSWORD
    enable: str | None = ENABLE
    accepted: frozenset[str] = frozenset()
    name: str = "core1"
    limits: Limits = QUICK
    told: list[Result] = field(default_factory=list)

    def job(self) -> Job:
        target = Target(
            self.name,
            "127.0.0.1",
            self.port,
            Credentials(USER, self.password, self.enable, agent=False),
            lambda timeout: direct("127.0.0.1", self.port, timeout),
            KnownHosts(self.known, self.name, self.accepted),
        )

        return Job(("site", self.name), "127.0.0.1", catalogue.get("cisco_ios"), target)

    def read(self) -> Captured | NotCaptured:
        return CaptureRun(self.limits, self.told.append).run([self.job()])["site", self.name].captured


def way_to(devices: Lab, shell: Shell, home: Path, **options: Any) -> Way:
    port = devices.start(shell, key=options.pop("key", lambda: None)())
    known = home / "known_hosts"
    known.write_text(devices.known_hosts)
    return Way(port, known, **options)


def reason_of(result: Result) -> str:
    assert isinstance(result.captured, NotCaptured), result
    return result.captured.reason


def whole(captured: Captured | NotCaptured) -> None:
    """Check that a capture is what the device holds, no line of it lost."""
    assert isinstance(captured, Captured), captured
    reading = read("cisco_ios", captured.files)
    assert reading.complete
    plain = [CaptureFile(command, text.encode()) for command, text in ANSWERS.items()]
    assert reading.state == read("cisco_ios", plain).state


HARMLESS = {
    "nothing is wrong": Shell(),
    "it wants the privilege step": Shell(low_prompt="core1>"),
    "it shows pages": Shell(page=24),
    "it shows pages and will not stop to": Shell(page=24, pager=""),
    "it shows pages with other words": Shell(page=10, pager="", more="<--- More --->"),
    "it is slow": Shell(pace=(64, 0.001)),
    "it prints a log message in the middle": Shell(message_after=40),
    "it ends the first connection before the login": Shell(busy=1),
    "it drops the first answer in the middle": Shell(drop_after=2000, drops=1),
    "it ends lines with two returns": Shell(end="\r\r\n"),
}


def test_what_can_be_coped_with_gives_a_whole_capture(devices: Lab, tmp_path: Path):
    ways = {}
    for number, (name, shell) in enumerate(HARMLESS.items()):
        shell.answers = ANSWERS
        ways[name] = way_to(devices, shell, tmp_path, name=f"core{number}")
    found = CaptureRun(replace(QUICK, workers=len(ways))).run([way.job() for way in ways.values()])
    each(ways, lambda name: whole(found["site", ways[name].name].captured))


LATE = Limits(device_seconds=300, tries=1)
"""For what never ends by itself, once it has come to where it does not."""
FAULTS: dict[str, tuple[Shell, dict[str, Any], str]] = {
    "the password is refused": (Shell(), {"password": "wrong"}, "refused the login of 'technician'.*not tried again"),
    "the secret for enable is refused": (Shell(low_prompt="core1>"), {"enable": "wrong"}, "refused the secret"),
    "the connection is cut in the middle": (Shell(drop_after=2000), {}, r"ended in the middle of the answer.*3 tries"),
    "it ends every connection before the login": (Shell(busy=99), {}, r"before the login: too many.*3 tries"),
    "it never shows a prompt": (Shell(mute=True), {"limits": LATE}, "did not answer to 'the login' in time"),
    "it shows no prompt before a Return": (Shell(waits_for_return=True), {"limits": LATE}, "'the login' in time"),
    "it never answers a command": (Shell(silent=True), {"limits": LATE}, "did not end in time"),
    "it is too slow": (Shell(pace=(16, 0.05)), {"limits": LATE}, "did not end in time: allow more"),
    "its host key has changed": (
        Shell(),
        {"key": Lab.new_key},
        r"differs from the known one: ssh-ed25519 SHA256:.*ssh-keygen -R",
    ),
}


@pytest.mark.parametrize(("shell", "options", "reason"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_told_with_what_to_do(shell, options, reason, devices: Lab, tmp_path: Path):
    shell.answers = ANSWERS
    way = way_to(devices, shell, tmp_path, **options)
    asked = b"\n" if shell.silent else b"running-config\n"
    shows_nothing = shell.mute or shell.waits_for_return

    def begins() -> bool:
        return shell.sessions > 0 if shows_nothing else asked in shell.received

    with time_is_over(1.5, begins) if way.limits is LATE else contextlib.nullcontext():
        captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert re.search(reason, captured.reason), captured.reason
    assert len(way.told) == 1
    for secret in (PASSWORD, ENABLE, "wrong"):
        assert secret not in captured.reason


def test_no_log_has_a_secret_at_any_level(devices: Lab, tmp_path: Path, caplog: pytest.LogCaptureFixture):
    for name in (None, "paramiko", "paramiko.transport", "netmiko"):
        caplog.set_level(logging.DEBUG, logger=name)
    whole(way_to(devices, Shell(answers=ANSWERS, low_prompt="core1>"), tmp_path).read())
    way_to(devices, Shell(low_prompt="core1>"), tmp_path, enable="not-the-enable-either").read()
    assert "paramiko" in caplog.text
    for secret in (PASSWORD, ENABLE, "not-the-enable-either"):
        assert secret not in caplog.text


def test_a_wrong_password_is_tried_once(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS)
    way_to(devices, shell, tmp_path, password="wrong").read()
    assert (shell.refused, shell.logins) == (1, 0)


def test_with_nothing_to_log_in_with_it_says_so(devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    for key_file, reason in ((None, "no password, key or agent"), ("/no/such/key", "/no/such/key is not there")):
        way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
        job = way.job()
        keyless = Credentials(USER, agent=False, look_for_keys=True, key_file=key_file)
        found = CaptureRun(QUICK).run([replace(job, target=replace(job.target, credentials=keyless))])
        assert reason in reason_of(found["site", "core1"])


def test_a_device_that_is_down(tmp_path: Path):
    captured = Way(closed_port(), tmp_path / "none").read()
    assert isinstance(captured, NotCaptured)
    assert captured.reason.startswith("no answer at its SSH port")


def test_a_device_that_takes_the_connection_and_says_nothing(tmp_path: Path):
    listener, port = deaf_port()
    with contextlib.closing(listener):
        captured = Way(port, tmp_path / "none", limits=SHORT).read()
    assert isinstance(captured, NotCaptured)
    assert "did not answer in time" in captured.reason


def test_a_refused_command_is_told_by_the_reading(devices: Lab, tmp_path: Path):
    captured = way_to(devices, Shell(), tmp_path).read()
    assert isinstance(captured, Captured)
    assert "answered with an error" in read("cisco_ios", captured.files).problem


@pytest.mark.slow
def test_an_answer_that_lacks_its_end_is_not_whole(devices: Lab, tmp_path: Path):
    short = {**ANSWERS, "show running-config": ANSWERS["show running-config"][:2500]}
    captured = way_to(devices, Shell(answers=short), tmp_path).read()
    assert isinstance(captured, Captured)
    assert "cut short" in read("cisco_ios", captured.files).problem


@pytest.mark.slow
def test_the_prompt_within_the_configuration_ends_nothing(devices: Lab, tmp_path: Path):
    """A slow link that pauses right behind text that looks like the prompt."""
    text = ANSWERS["show running-config"].replace("is only part of this banner.", "core1#")
    shell = Shell(answers={**ANSWERS, "show running-config": text}, pace=(7, 0.002))
    captured = way_to(devices, shell, tmp_path).read()
    assert isinstance(captured, Captured)
    assert not read("cisco_ios", captured.files).problem
    shown = configuration(captured).split("\n")
    assert [line for line in text.split("\n") if line.startswith("interface")] == [
        line for line in shown if line.startswith("interface")
    ]


@pytest.mark.slow
def test_a_prompt_that_is_drawn_again_in_the_middle_does_not_end_the_answer(devices: Lab, tmp_path: Path):
    """Whatever was cut off there must not pass for all there is."""
    text = "\n".join(
        ["VLAN Name                             Status    Ports", *ANSWERS["show vlan brief"].splitlines()]
    )
    shell = Shell(
        answers={"show running-config": ANSWERS["show running-config"], "show vlan brief": text}, redraw_after=6
    )
    captured = way_to(devices, shell, tmp_path).read()
    if isinstance(captured, Captured):
        kept = b"".join(file.data for file in captured.files).decode()
        assert all(line.strip() in kept for line in text.splitlines())
    else:
        assert "printed in the middle" in captured.reason


@pytest.mark.slow
def test_letters_beyond_ascii_survive_a_slow_link(devices: Lab, tmp_path: Path):
    text = ANSWERS["show running-config"].replace("description x-ray", "description Röntgen — £ 2. Stock")
    assert "Röntgen" in text
    captured = way_to(
        devices, Shell(answers={**ANSWERS, "show running-config": text}, pace=(3, 0.0005)), tmp_path
    ).read()
    assert isinstance(captured, Captured)
    assert "description Röntgen — £ 2. Stock" in configuration(captured)


def test_a_first_meeting_is_told_and_accepted_by_its_fingerprint_alone(devices: Lab, tmp_path: Path):
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    way.known.unlink()
    first = way.read()
    assert isinstance(first, NotCaptured)
    shown = first.reason.rpartition("--accept ")[2]
    assert "--only core1" in first.reason
    assert not way.known.exists()
    way.accepted = frozenset({"SHA256:" + "A" * 43})
    assert isinstance(way.read(), NotCaptured)
    way.accepted = frozenset({shown})
    whole(way.read())
    way.accepted = frozenset()
    whole(way.read())


def test_a_jump_host_is_met_for_the_first_time(devices: Lab, tmp_path: Path):
    port = devices.start(Shell())
    config = tmp_path / "config"
    config.write_text(f"Host jump\n HostName 127.0.0.1\n Port {port}\n")
    wallet = Wallet("x", {"AUDITOR_USER": USER, "AUDITOR_PASSWORD": PASSWORD})
    config.write_text(config.read_text() + "Host 192.0.2.9\n ProxyJump jump\n")
    route = Routes(Configuration(config), wallet).to("core1", Names(("192.0.2.9",)))
    with pytest.raises(CaptureFailedError, match="run the capture once with --only DEVICE --accept SHA256:"):
        open_way(route, KnownHosts(tmp_path / "none", ""), 5)


def test_a_changed_key_cannot_be_accepted(devices: Lab, tmp_path: Path):
    key = Lab.new_key()
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path, key=lambda: key)
    way.accepted = frozenset({key.get_fingerprint()})
    before = way.known.read_text()
    captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert "differs from the known one" in captured.reason
    assert way.known.read_text() == before


def test_an_old_device_is_read_and_the_capture_says_so(devices: Lab, tmp_path: Path):
    """RFC 9142 section 3 and NIST SP 800-131A: SHA-1 key exchanges and MACs are outdated (from memory)."""
    old = {
        "kex_algs": ["diffie-hellman-group14-sha1"],
        "encryption_algs": ["aes128-cbc"],
        "mac_algs": ["hmac-sha1"],
    }
    captured = way_to(devices, Shell(answers=ANSWERS, options=old), tmp_path).read()
    whole(captured)
    assert isinstance(captured, Captured)
    for name in ("diffie-hellman-group14-sha1", "aes128-cbc", "hmac-sha1"):
        assert f"it needs an outdated algorithm: {name}" in captured.notes


@pytest.mark.slow
def test_one_fault_does_not_cost_the_others(devices: Lab, tmp_path: Path):
    shells = [
        Shell(answers=ANSWERS),
        Shell(silent=True),
        Shell(answers=ANSWERS, drop_after=2000),
        Shell(answers=ANSWERS),
    ]
    ways = [way_to(devices, shell, tmp_path, name=f"sw{number}") for number, shell in enumerate(shells)]
    found = Patient(QUICK, silent=("sw1",)).run([way.job() for way in ways])
    assert [isinstance(result.captured, Captured) for _, result in sorted(found.items())] == [True, False, False, True]


def test_a_round_that_is_stopped_ends_soon_and_has_what_was_read(devices: Lab, tmp_path: Path):
    ways = [way_to(devices, Shell(answers=ANSWERS), tmp_path, name="sw0")]
    ways += [way_to(devices, Shell(silent=True), tmp_path, name=f"sw{number}") for number in range(1, 4)]
    captured_sites = CaptureRun(Limits(device_seconds=600))
    captured_sites.done = lambda result: captured_sites.stop.set()
    found = captured_sites.run([way.job() for way in ways])
    assert isinstance(found["site", "sw0"].captured, Captured)
    assert all("stopped" in reason_of(found["site", f"sw{n}"]) for n in range(1, 4))


def test_without_keep_going_the_first_failure_stops_the_round(devices: Lab, tmp_path: Path):
    bad = way_to(devices, Shell(), tmp_path, name="bad", password="wrong")
    slow = way_to(devices, Shell(silent=True), tmp_path, name="slow")
    found = CaptureRun(Limits(device_seconds=60), keep_going=False).run([bad.job(), slow.job()])
    assert "stopped" in reason_of(found["site", "slow"])


def test_the_time_for_the_round_ends_devices_that_wait(devices: Lab, tmp_path: Path):
    ways = [way_to(devices, Shell(silent=True), tmp_path, name=f"sw{number}") for number in range(3)]
    found = CaptureRun(Limits(workers=1, round_seconds=1.0)).run([way.job() for way in ways])
    assert len(found) == 3
    assert "the run reached its time limit" in reason_of(found["site", "sw2"])


def test_a_jump_host_that_is_down_is_told(tmp_path: Path):
    config = tmp_path / "config"
    config.write_text(
        f"Host jump\n HostName 127.0.0.1\n Port {closed_port()}\nHost x-ap2\n HostName 192.0.2.9\n ProxyJump jump\n"
    )
    wallet = Wallet("x", {"AUDITOR_USER": USER, "AUDITOR_PASSWORD": PASSWORD})
    route = Routes(Configuration(config), wallet).to("ap2", Names(("10.0.0.9", "x-ap2")))
    assert (route.host, [hop.name for hop in route.hops]) == ("192.0.2.9", ["jump"])
    known = KnownHosts(tmp_path / "known", "")
    way = Job(
        ("site", "ap2"),
        "10.0.0.9",
        catalogue.get("openwrt"),
        Target("ap2", route.host, 22, route.credentials, lambda t: open_way(route, known, t), known),
    )
    captured = CaptureRun(Limits(device_seconds=3, pause_seconds=0.01)).run([way])["site", "ap2"].captured
    assert isinstance(captured, NotCaptured)
    assert "connection through jump host jump failed" in captured.reason
