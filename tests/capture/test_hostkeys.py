"""Lines of a known_hosts file that are not a plain key: none of them lets a device in, none costs the others."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import paramiko
import pytest

from auditor.app.capturing import Access, capture
from auditor.capture.credentials import Credentials
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import NotCaptured
from auditor.capture.reach import open_way
from auditor.capture.routes import JumpHost, Route
from auditor.errors import TransientError, UsageError
from auditor.plan.loader import parse
from tests.capture.test_faults import ANSWERS, reason_of, way_to, whole
from tests.lab import openssh
from tests.lab.shells import Lab, Shell, closed_port, lab

OTHER = "AAAAC3NzaC1lZDI1NTE5AAAAIBV0CJpOpXNGvFFPz3QBjhcWOvpIKSFUsm4tfYQXjGbN"


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


FOREIGN = {
    "a certificate authority": b"@cert-authority *.example ssh-ed25519 " + OTHER.encode(),
    "another revoked key": b"@revoked * ssh-ed25519 " + OTHER.encode(),
    "Latin-1": b"caf\xe9.example ssh-ed25519 AAAA # B\xfcro",
    "junk": b"hello\n\xff\xfe\x00\nsw9 ssh-ed25519 !!not-base64!!\n@ \nsw9 ssh-ed25519",
    "an old kind of key": b"sw9 1024 35 1234567890",
}


@pytest.mark.parametrize("line", FOREIGN.values(), ids=FOREIGN)
def test_a_foreign_line_costs_nobody(line: bytes, devices: Lab, tmp_path: Path):
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    way.known.write_bytes(line + b"\n" + way.known.read_bytes() + line)
    whole(way.read())


def test_a_hashed_name_is_known(devices: Lab, tmp_path: Path):
    """Hashed by ssh-keygen's own library code in paramiko; the form is that of sshd(8)."""
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    name, key = f"[127.0.0.1]:{way.port}", devices.key.export_public_key().decode()
    way.known.write_text(f"|1|x|y {key}{paramiko.HostKeys.hash_host(name)} {key}")
    whole(way.read())


def test_a_revoked_key_is_never_accepted(devices: Lab, tmp_path: Path):
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    key = devices.key.export_public_key().decode()
    way.accepted = frozenset({devices.key.get_fingerprint()})
    for known in (f"@revoked * {key}{devices.known_hosts}", f"{devices.known_hosts}@revoked\t*\t{key}"):
        way.known.write_text(known)
        captured = way.read()
        assert isinstance(captured, NotCaptured)
        assert "revoked" in captured.reason
        assert way.known.read_text() == known


def test_a_revocation_that_cannot_be_read_is_told_with_file_and_line(devices: Lab, tmp_path: Path):
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    way.known.write_text(f"# mine\n@revoked * ssh-ed25519 AAAA\n{devices.known_hosts}")
    captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert f"{way.known}:2:" in captured.reason


def test_a_line_about_an_unknown_device_that_cannot_be_used_is_told(devices: Lab, tmp_path: Path):
    way = way_to(devices, Shell(answers=ANSWERS), tmp_path)
    way.known.write_text(f"\n[127.0.0.1]:{way.port} ssh-ed25519 AAAA\n")
    captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert "is not known" in captured.reason
    assert f"{way.known}: line 2" in captured.reason


def test_a_fingerprint_is_accepted_for_one_device_alone(tmp_path: Path):
    config = tmp_path / "config"
    config.write_text("".join(f"Host 10.0.0.{n}\n  HostName 127.0.0.1\n  Port {closed_port()}\n" for n in range(2)))
    devices = ", ".join(f"sw{n}: {{role: access, platform: cisco_ios, address: 10.0.0.{n}}}" for n in range(2))
    subnets = "{a: {vlan: 2, prefix: 10.0.0.0/24}}"
    plan = parse("plan.yaml", f"format: 1\nsite: x\nsubnets: {subnets}\ndevices: {{{devices}}}\n".encode())
    known = tmp_path / "known"
    access = Access(
        config, known, frozenset({"SHA256:" + "A" * 43}), {"AUDITOR_USER": "u", "AUDITOR_PASSWORD": "not-a-real-one"}
    )
    with pytest.raises(UsageError, match="2 would be read: name the one with --only"):
        capture([plan], access)
    captured_sites = capture([plan], access, only=["sw1"])
    (failed,) = [result for result in captured_sites.failed if result.key[1] == "sw1"]
    assert "no answer" in reason_of(failed)


@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
def test_a_device_that_is_down_behind_a_jump_host(tmp_path: Path):
    with openssh.sshd(tmp_path / "jump") as jump:
        (tmp_path / "known").write_text(jump.known_host)
        credentials = Credentials(jump.user, key_file=str(jump.key_file), agent=False)
        hops = (JumpHost("jump", "127.0.0.1", jump.port, credentials),)
        route = Route("127.0.0.1", closed_port(), credentials, hops)
        with pytest.raises(TransientError, match="the jump host jump cannot reach it"):
            open_way(route, KnownHosts(tmp_path / "known", ""), 10)
