"""Peers that nobody here wrote: FRR behind OpenSSH, and devices of the package fakenos."""

from __future__ import annotations

import contextlib
import re
import shlex
import subprocess
from pathlib import Path

import paramiko
import pytest

from auditor.areas import read
from auditor.capture.connection import Target
from auditor.capture.credentials import Credentials
from auditor.capture.hostkeys import KnownHosts, fingerprint
from auditor.capture.interface import Captured
from auditor.capture.live import CaptureRun, Job, Limits
from auditor.capture.reach import direct
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from tests.compare.site import NETWORKS
from tests.lab import frr, openssh
from tests.lab.shells import closed_port, wait_for

CORE = NETWORKS / "quarry-road" / "conforming" / "core1"


def captured(port: int, known: KnownHosts, credentials: Credentials, commands: list[str]) -> list[CaptureFile]:
    platform = catalogue.get("cisco_ios").model_copy(update={"commands": commands})
    target = Target("peer", "127.0.0.1", port, credentials, lambda t: direct("127.0.0.1", port, t), known)
    found = CaptureRun(Limits(device_seconds=300)).run([Job(("s", "peer"), "127.0.0.1", platform, target)])
    result = found["s", "peer"].captured
    assert isinstance(result, Captured), result
    return result.files


@pytest.mark.skipif(not frr.AVAILABLE, reason="FRR is not installed, or this is not root")
@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
def test_a_true_running_configuration(tmp_path: Path):
    with frr.frr() as shell:
        script = tmp_path / "shell"
        script.write_text(f"#!/bin/sh\nexec {shell}\n")
        script.chmod(0o755)
        with openssh.sshd(tmp_path / "sshd", str(script)) as server:
            known = tmp_path / "known_hosts"
            known.write_text(server.known_host)
            credentials = Credentials(server.user, key_file=str(server.key_file), agent=False)
            (file,) = captured(server.port, KnownHosts(known, "peer"), credentials, ["show running-config"])
        true = subprocess.run(
            [*shlex.split(shell), "-c", "show running-config"], capture_output=True, text=True, check=True
        ).stdout
    lines = file.data.decode().splitlines()
    wanted = true.splitlines()
    start = lines.index("Building configuration...")
    assert lines[start : start + len(wanted)] == wanted
    assert "interface lo" in wanted
    one_name = re.sub(rb"(?m)^hostname (?!made-up).*\n", b"", file.data)  # it prints the machine's name as well
    assert not read("cisco_ios", [CaptureFile(file.name, one_name)]).problem


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")  # of its own threads
@pytest.mark.filterwarnings("ignore::ResourceWarning")
def test_a_device_of_a_public_simulator(tmp_path: Path):
    fakenos = pytest.importorskip("fakenos")
    texts = {
        "show running-config": (CORE / "show_running-config.txt").read_text(),
        "show vlan brief": (CORE / "show_vlan_brief.txt").read_text(),
    }
    prompts = ["{base_prompt}>", "{base_prompt}#"]
    commands = {name: {"output": text, "help": name, "prompt": prompts} for name, text in texts.items()}
    commands |= {
        "terminal length 0": {"output": "", "help": "pager", "prompt": prompts},
        "terminal width 511": {"output": "", "help": "pager", "prompt": prompts},
    }
    port = closed_port()
    host = {"username": "tech", "password": "not-the-real-one", "port": port, "nos": {"plugin": "clinic"}}
    nos = fakenos.core.nos.Nos(name="clinic", commands=commands, initial_prompt="{base_prompt}#")
    net = fakenos.FakeNOS({"hosts": {"core1": host}}, plugins=[nos])
    net.start()
    try:
        wait_for(port)
        known = KnownHosts(tmp_path / "known", "peer", accepted_key(port))
        credentials = Credentials("tech", "not-the-real-one", agent=False)
        files = captured(port, known, credentials, list(texts))
    finally:
        with contextlib.suppress(Exception):
            net.stop()
    plain = [CaptureFile(name, text.encode()) for name, text in texts.items()]
    assert read("cisco_ios", files).complete
    assert read("cisco_ios", files).state == read("cisco_ios", plain).state


def accepted_key(port: int) -> frozenset[str]:
    """Return the fingerprint that a person would compare with the device's."""
    transport = paramiko.Transport(direct("127.0.0.1", port, 60))
    try:
        transport.start_client(timeout=60)
        return frozenset({fingerprint(transport.get_remote_server_key())})
    finally:
        transport.close()
