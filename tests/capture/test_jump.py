"""The way through a jump host is closed with the session, whether it was read or refused."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from auditor.capture.connection import Target
from auditor.capture.credentials import Credentials, Wallet
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import Captured
from auditor.capture.live import CaptureRun, Job, Limits
from auditor.capture.reach import open_way
from auditor.capture.routes import Routes
from auditor.capture.sshconfig.lookup import Configuration, Names
from auditor.platforms import catalogue
from tests.lab import openssh
from tests.lab.shells import PASSWORD, USER, Shell, lab


def held() -> tuple[int, int]:
    """Return how many threads and descriptors there are."""
    return threading.active_count(), len(list(Path("/proc/self/fd").iterdir()))


def settled(most: tuple[int, int] | None) -> tuple[int, int]:
    """Return the same, once what is ending has had time to: the first time a while, and then until it has ended."""
    time.sleep(0.3)
    for _ in range(600):
        found = held()
        if most is None or max(found[0] - most[0], found[1] - most[1]) <= 0:
            break
        time.sleep(0.05)
    return found


@pytest.mark.slow
@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
@pytest.mark.parametrize("password", [PASSWORD, "wrong"])
def test_nothing_of_the_way_is_left(password: str, tmp_path: Path):
    with lab() as devices, openssh.sshd(tmp_path / "jump") as jump:
        answers = {"show running-config": "hostname core1\nend\n", "show vlan brief": ""}
        port = devices.start(Shell(answers=answers))
        known = tmp_path / "known"
        known.write_text(devices.known_hosts + jump.known_host)
        config = tmp_path / "config"
        config.write_text(
            f"Host jump\n HostName 127.0.0.1\n Port {jump.port}\n User {jump.user}\n IdentityFile {jump.key_file}\n"
            f"Host 10.0.0.1\n HostName 127.0.0.1\n Port {port}\n ProxyJump jump\n"
            "Host *\n IdentityAgent none\n"
        )
        route = Routes(Configuration(config), Wallet("x", {})).to("core1", Names(("10.0.0.1",)))
        jump_keys = KnownHosts(known, "")
        target = Target(
            "core1",
            route.host,
            route.port,
            Credentials(USER, password, agent=False),
            lambda timeout: open_way(route, jump_keys, timeout),
            KnownHosts(known, "core1"),
        )
        job = Job(("site", "core1"), "10.0.0.1", catalogue.get("cisco_ios"), target)
        counts: list[tuple[int, int]] = []
        for _ in range(4):
            result = CaptureRun(Limits(device_seconds=300)).run([job])["site", "core1"]
            assert isinstance(result.captured, Captured) == (password == PASSWORD)
            counts.append(settled(counts[0] if counts else None))
        assert max(counts) == counts[0], counts
