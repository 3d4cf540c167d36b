"""A year of monthly rounds in miniature: random faults, every device in every report, nothing hangs or leaks."""

from __future__ import annotations

import gc
import random
import re
import threading
import time
from pathlib import Path

import pytest

from auditor.app.auditing import audit
from auditor.capture.connection import Target
from auditor.capture.credentials import Credentials
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.live import Job, Limits, LiveCaptures
from auditor.capture.reach import direct
from auditor.plan.loader import parse
from auditor.platforms import catalogue
from tests.capture.test_faults import Patient
from tests.lab.shells import PASSWORD, USER, Shell, lab

ROUNDS, DEVICES = 12, 20
FAULTS = (
    "none",
    "none",
    "none",
    "page",
    "message",
    "busy",
    "drop once",
    "drop",
    "silent",
    "mute",
    "slow",
    "cut",
    "error",
)
LIMITS = Limits(workers=DEVICES, device_seconds=300, pause_seconds=0.02)
CONFIG = """hostname {name}
!
vlan 10
 name staff
!
interface GigabitEthernet1/0/1
 switchport access vlan 10
 switchport mode access
!
vtp mode transparent
end
"""


def plan_of(names: list[str]) -> bytes:
    ports = "ports: {GigabitEthernet1/0/1: {access: staff}}"
    lines = [f"  {name}: {{role: access, platform: cisco_ios, address: 127.0.0.1, {ports}}}" for name in names]
    subnets = "subnets:\n  staff: {vlan: 10, prefix: 10.1.10.0/24, dhcp: none}\n"
    return ("format: 1\nsite: Twelve Months\n" + subnets + "devices:\n" + "\n".join(lines) + "\n").encode()


def shell_with(fault: str, name: str) -> Shell:
    text = CONFIG.format(name=name)
    answers = {"show running-config": text, "show vlan brief": ""}
    shell = Shell(prompt=f"{name}#", answers=answers)
    match fault:
        case "page":
            shell.page, shell.pager = 4, ""
        case "message":
            shell.message_after = 3
        case "busy":
            shell.busy = 1
        case "drop once" | "drop":
            shell.drop_after, shell.drops = 40, 1 if fault == "drop once" else 99
        case "silent":
            shell.silent = True
        case "mute":
            shell.mute = True
        case "slow":
            shell.pace = (16, 0.01)
        case "cut":
            shell.answers = {**answers, "show running-config": text.replace("end\n", "")}
        case "error":
            shell.answers = {}
    return shell


def settled() -> int:
    """Return how many threads there are, once those that are ending have ended."""
    gc.collect()
    for _ in range(200):
        if threading.active_count() == 1:
            break
        time.sleep(0.01)
    return threading.active_count()


def open_files() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


def job_of(name: str, port: int, known: Path) -> Job:
    credentials = Credentials(USER, PASSWORD, agent=False)
    target = Target(
        name, "127.0.0.1", port, credentials, lambda t: direct("127.0.0.1", port, t), KnownHosts(known, name)
    )

    return Job(("site", name), "127.0.0.1", catalogue.get("cisco_ios"), target)


@pytest.mark.slow
def test_a_year_of_rounds(tmp_path: Path):
    dice = random.Random(2026)
    names = [f"sw{number}" for number in range(DEVICES)]
    plan = parse("plan.yaml", plan_of(names))
    threads, files = [], []
    for month in range(ROUNDS):
        faults = {name: dice.choice(FAULTS) for name in names}
        with lab() as devices:
            ports = {name: devices.start(shell_with(fault, name)) for name, fault in faults.items()}
            known = tmp_path / f"known{month}"
            known.write_text(devices.known_hosts)
            never = tuple(name for name, fault in faults.items() if fault in ("silent", "mute"))
            begin = time.monotonic()
            found = Patient(LIMITS, silent=never).run([job_of(name, ports[name], known) for name in names])
            assert time.monotonic() - begin < DEVICES * LIMITS.device_seconds  # one after the other would take longer
        report = audit(plan, LiveCaptures("site", found))
        assert [device.name for device in report.devices] == names
        for device in report.devices:
            told_of(faults[device.name], device.outcome, device.complete, device.reason or "")
        assert report.complete == (set(faults.values()) <= {"none", "page", "message", "busy", "drop once", "slow"})
        threads.append(settled())
        files.append(open_files())
    assert threads == [1] * ROUNDS, [thread.name for thread in threading.enumerate()]
    assert max(files[1:]) <= files[0] + 1


def told_of(fault: str, outcome: str, complete: bool, reason: str) -> None:
    """Check that a device's fault is told as what it is."""
    match fault:
        case "cut":
            assert (outcome, "cut short" in reason) == ("not readable", True)
        case "error":
            assert (outcome, "answered with an error" in reason) == ("not readable", True)
        case "drop" | "silent" | "mute":
            assert outcome == "not captured"
            assert re.search("ended in the middle|in time", reason), reason
        case _:
            assert (outcome, complete, reason) == ("audited", True, ""), fault
