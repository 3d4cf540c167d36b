"""Nothing but read-only commands goes onto the wire, one line for each prompt, whoever writes it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from auditor.capture.allowlist import Allowlist
from auditor.capture.clock import Clock
from auditor.capture.live import CaptureRun
from auditor.capture.session import Session
from auditor.errors import NotAllowedError, UsageError
from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from auditor.platforms.live import Live
from tests.capture.rounds import prompt_of
from tests.capture.test_faults import ANSWERS, QUICK, way_to, whole
from tests.lab.shells import ENABLE, Lab, Shell, lab


def ios() -> Platform:
    return catalogue.get("cisco_ios")


ENDS = ("\n", "\r", "\r\n", "\v", "\f", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029", "\x00", "\x03", "\x1a")
"""What ends a line for somebody, or does as much: str.splitlines of Python's reference, and what a terminal takes."""


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


def gate_at(shown: str = "prompt") -> Allowlist:
    allowlist = Allowlist(ios())
    {
        "prompt": allowlist.at_prompt,
        "pager": allowlist.at_pager,
        "secret": lambda: allowlist.expect(ENABLE),
        "nothing": lambda: None,
    }[shown]()
    return allowlist


@pytest.mark.parametrize("shown", ["nothing", "pager", "secret"])
def test_no_command_and_no_return_goes_out_without_a_prompt(shown: str):
    for text in ("show running-config\n", "\n", "\r", "\r\n", "exit\n", "enable\n"):
        with pytest.raises(NotAllowedError):
            gate_at(shown).check(text)


def test_one_line_goes_out_for_each_prompt():
    allowlist = gate_at()
    allowlist.check("show running-config\n")
    for text in ("show running-config\n", "\n"):
        with pytest.raises(NotAllowedError):
            allowlist.check(text)
    allowlist.at_prompt()
    allowlist.check("exit\r")
    assert not allowlist.is_at_prompt


@pytest.mark.parametrize("end", ENDS, ids=repr)
def test_no_text_is_two_lines(end: str):
    for text in (
        f"show running-config{end}reload\n",
        f"show running-config{end}show vlan brief\n",
        f"show running-config{end}{end}",
        f"{end}show running-config\n",
        f"show running-config\n{end}",
        f"{end}\n\n",
        "exit\r\n",
        "\r\n",
    ):
        with pytest.raises(NotAllowedError):
            gate_at().check(text)
        allowlist = Allowlist(ios())
        allowlist.expect(text.removesuffix("\n"))
        with pytest.raises(NotAllowedError):
            allowlist.check(f"{text}\n")


@pytest.mark.parametrize(
    "text", ["show running-config", "sh run\n", " exit\n", "exit \n", "EXIT\n", "?", "\t", "", "  ", " \n", "\n", "\r"]
)
def test_only_whole_lines_to_the_letter(text: str):
    with pytest.raises(NotAllowedError):
        gate_at().check(text)


def test_a_blank_answers_a_pager_and_nothing_else():
    allowlist = gate_at("pager")
    allowlist.check(" ")
    with pytest.raises(NotAllowedError):
        allowlist.check(" ")
    with pytest.raises(NotAllowedError):
        gate_at("prompt").check(" ")


def test_a_secret_goes_out_once_whole_and_where_it_is_asked_for():
    allowlist = gate_at("secret")
    allowlist.check(f"{ENABLE}\n")
    for state in ("prompt", "nothing", "pager"):
        with pytest.raises(NotAllowedError) as told:
            gate_at(state).check(f"{ENABLE}\n")
        assert ENABLE not in str(told.value)
    for part in (ENABLE, ENABLE[:5] + "\n", f"{ENABLE} \n", f"{ENABLE}\n\n", "\n"):
        with pytest.raises(NotAllowedError):
            gate_at("secret").check(part)


def test_what_was_refused_shuts_the_gate():
    allowlist = gate_at()
    with pytest.raises(NotAllowedError):
        allowlist.check("reload\n")
    with pytest.raises(NotAllowedError):
        allowlist.check("show running-config\n")


def test_only_what_was_let_through_goes_out_and_once():
    allowlist = gate_at()
    with pytest.raises(NotAllowedError):
        allowlist.release(b"\n")
    allowlist.check("exit\n")
    allowlist.release(b"ex")
    for data in (b"exit\n", b"", b"it\n\n"):
        with pytest.raises(NotAllowedError):
            allowlist.release(data)
    allowlist.release(b"it\n")
    with pytest.raises(NotAllowedError):
        allowlist.release(b"\n")


WRITERS: dict[str, Callable[[Any], object]] = {
    "netmiko's channel": lambda c: c.channel.write_channel("reload\n"),
    "netmiko's write": lambda c: c.write_channel("\n"),
    "netmiko's prompt finder": lambda c: c.find_prompt(),
    "netmiko's command": lambda c: c.send_command_timing("reload"),
    "netmiko's configuration": lambda c: c.send_config_set(["hostname x"]),
    "netmiko's enable": lambda c: c.enable(),
    "netmiko's sign of life": lambda c: c.is_alive(),
    "netmiko's pager": lambda c: c.disable_paging(),
    "paramiko's channel": lambda c: c.remote_conn.sendall(b"reload\n"),
    "paramiko's channel, a Return": lambda c: c.remote_conn.send(b"\n"),
    "paramiko's second stream": lambda c: c.remote_conn.sendall_stderr(b"reload\n"),
    "another command line": lambda c: c.remote_conn_pre.invoke_shell().send(b"reload\n"),
    "a command of its own": lambda c: c.remote_conn_pre.exec_command("reload"),
    "a subsystem": lambda c: c.remote_conn_pre.open_sftp(),
    "a variable": lambda c: c.remote_conn.set_environment_variable("A", "reload"),
}


def test_there_is_no_way_around_the_gate(devices: Lab, tmp_path: Path):
    """Each writes to the device while it shows its prompt, but nobody has said so."""
    for name, write in WRITERS.items():
        shell = Shell(answers=ANSWERS)
        job = way_to(devices, shell, tmp_path).job()
        reader = Session(job.target, job.platform, Clock(float("inf"), now=lambda: 0.0))
        try:
            with pytest.raises(NotAllowedError):
                write(reader._connection)
        finally:
            reader.close()
        assert bytes(shell.received) == b"", name


def test_a_line_goes_out_in_pieces_where_the_device_takes_little(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS, low_prompt="core1>", options={"window": 5})
    whole(way_to(devices, shell, tmp_path).read())
    lines = {*ios().commands, *ios().live.pager, "enable", ENABLE, "exit", ""}
    assert set(shell.received.decode().split("\n")) <= lines
    assert b"\n\n" not in shell.received


@pytest.mark.slow
def test_one_return_ends_a_line_on_every_platform(devices: Lab, tmp_path: Path):
    """netmiko sends two characters to some; the second would answer whatever is asked next."""
    shells, jobs = {}, []
    for name in catalogue.names():
        platform = catalogue.get(name)
        low = "core1>" if platform.live.privilege else ""
        shells[name] = Shell(prompt=prompt_of(name), low_prompt=low, answers=dict.fromkeys(platform.commands, "x"))
        jobs.append(replace(way_to(devices, shells[name], tmp_path, name=name).job(), platform=platform))
    CaptureRun(QUICK).run(jobs)
    for name, shell in shells.items():
        live, commands = catalogue.get(name).live, catalogue.get(name).commands
        raised = [live.privilege, ENABLE] if live.privilege else []
        lines = [*raised, *live.pager, *commands, *live.leave, ""]
        assert shell.received.decode().replace("\r", "\n").split("\n") == lines, name


def test_the_session_ends_at_a_prompt_alone(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS)
    job = way_to(devices, shell, tmp_path).job()
    Session(job.target, job.platform, Clock(float("inf"), now=lambda: 0.0)).close()
    assert bytes(shell.received) == b""


@pytest.mark.parametrize("text", [f"show version{end}reload" for end in ENDS] + ["show versi\u00f6n", "exit\n"])
def test_no_platform_s_line_is_two(text: str):
    for key in ("pager", "leave"):
        with pytest.raises(ValidationError, match="one line of printable ASCII"):
            Live.model_validate({key: [text]})
    with pytest.raises(ValidationError, match="one line of printable ASCII"):
        Live.model_validate({"privilege": text})
    with pytest.raises(ValidationError, match="one line of printable ASCII"):
        platform("invented", {text: None})


def platform(name: str, commands: dict[str, None]) -> Platform:
    told = {"about": "invented", "layout": "indented", "bridging": "access-and-trunk", "sections": []}
    return Platform.model_validate({"name": name, "commands": commands, **told})


def test_no_platform_is_read_by_telnet():
    for kind in ("cisco_ios_telnet", "cisco_ios_serial"):
        with pytest.raises(ValidationError, match="over SSH alone"):
            platform(kind, {"show": None})


def test_refusals_are_errors_of_ours_and_say_what_happened():
    assert not issubclass(NotAllowedError, UsageError)
    assert str(NotAllowedError()).startswith("blocked: not a read-only command")
