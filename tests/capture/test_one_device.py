"""Two devices of a run that are one in truth do not count, whatever the place is called on the way to it."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.app import capturing
from auditor.app.capturing import Access, capture
from auditor.capture.addresses import normalized, of_peer, resolved
from auditor.capture.interface import Captured
from auditor.capture.live import Limits
from auditor.capture.peers import Peer, Peers, listed
from tests.capture.test_faults import ANSWERS
from tests.capture.test_right_device import plan_of, reason, told, toured
from tests.lab import openssh
from tests.lab.shells import PASSWORD, USER, Lab, Shell, closed_port, lab

SPELLINGS = {
    "short": "127.1",
    "in three parts": "127.0.1",
    "octal": "0177.0.0.01",
    "hexadecimal": "0x7f.0.0.1",
    "one number": "2130706433",
    "IPv4 mapped into IPv6": "::ffff:127.0.0.1",
    "the same in hexadecimal": "0:0:0:0:0:FFFF:7F00:1",
    "unspecified": "0.0.0.0",
    "a name": "localhost",
    "a name in capitals": "LocalHost",
}


@pytest.fixture
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


@pytest.mark.parametrize("spelling", SPELLINGS.values(), ids=SPELLINGS)
def test_another_spelling_is_the_same_place(spelling: str, devices: Lab, tmp_path: Path):
    """inet_aton(3) for IPv4, RFC 4291 sections 2.2 and 2.5.5.2 for IPv6, RFC 4343 for the case of names."""
    shell = Shell(answers=ANSWERS)
    plans = [plan_of("A", core1="127.0.0.1"), plan_of("B", core1="127.0.0.81")]
    config = f"Host 127.0.0.81\n HostName {spelling}\nHost *\n Port {devices.start(shell)}\n"
    tour = toured(tmp_path, devices, config, *plans)
    assert shell.connections == 0
    assert "and so does the way to core1 of B" in reason(tour, plans[0], "core1")
    assert "and so does the way to core1 of A" in reason(tour, plans[1], "core1")
    assert not list(tmp_path.glob("*.yaml"))


def test_two_names_of_one_address_are_the_same_place(devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    names = {"sw1.example.net": ["192.0.2.7", "127.0.0.1"], "old-sw1.example.net": ["127.0.0.1"]}
    lookup = socket.getaddrinfo

    def found(host: str, *args: object, **options: object) -> list[object]:
        if host in names and not options.get("flags"):
            return [(2, 1, 6, "", (address, 0)) for address in names[host]]
        return lookup(host, *args, **options)  # type: ignore[arg-type, return-value]

    monkeypatch.setattr(socket, "getaddrinfo", found)
    shell = Shell(answers=ANSWERS)
    plans = [plan_of("A", core1="192.0.2.1"), plan_of("B", core1="192.0.2.2")]
    one, two = names
    config = f"Host 192.0.2.1\n HostName {one}\nHost 192.0.2.2\n HostName {two}\nHost *\n Port {devices.start(shell)}\n"
    tour = toured(tmp_path, devices, config, *plans)
    assert (len(tour.failed), shell.connections) == (2, 0)
    assert f"{one}:" in reason(tour, plans[0], "core1")
    assert "(127.0.0.1)" in reason(tour, plans[0], "core1")


@pytest.mark.parametrize(
    ("own", "target"),
    [
        ("10.0.0.1", "10.0.1"),
        ("10.0.0.1", "::ffff:10.0.0.1"),
        ("10.0.0.1", "012.0.0.1"),
        ("sw1.example", "SW1.Example."),
    ],
)
@pytest.mark.parametrize("gate", ["127.0.0.1", "127.1", "localhost"])
def test_behind_one_jump_host_by_any_name_it_is_the_same_place(
    own: str, target: str, gate: str, devices: Lab, tmp_path: Path
):
    plans = [plan_of("A", core1="10.0.0.1"), plan_of("B", core1="10.0.0.9")]
    config = (
        f"Host 10.0.0.1\n HostName {own}\n ProxyJump one\nHost 10.0.0.9\n HostName {target}\n ProxyJump two\n"
        f"Host one two\n Port {closed_port()}\nHost one\n HostName 127.0.0.1\nHost two\n HostName {gate}\n"
    )
    tour = toured(tmp_path, devices, config, *plans)
    assert "so does the way to core1 of B" in reason(tour, plans[0], "core1")
    assert "so does the way to core1 of A" in reason(tour, plans[1], "core1")


def test_what_answers_is_compared_where_the_names_told_nothing(
    devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """As where a name was not found before, and is found when it is connected to."""
    monkeypatch.setattr(capturing, "resolved", lambda hosts: {host: frozenset({host}) for host in hosts})
    shell = Shell(answers=ANSWERS)
    port = devices.start(shell)
    devices.known_hosts += devices.known_hosts.replace("127.0.0.1", "localhost")
    plans = [plan_of("A", core1="127.0.0.1"), plan_of("B", core1="127.0.0.81")]
    config = f"Host 127.0.0.81\n HostName localhost\nHost *\n Port {port}\n"
    tour = toured(tmp_path, devices, config, *plans)
    assert shell.sessions == 2
    assert "is also the one reached as core1 of B" in reason(tour, plans[0], "core1")
    assert "is also the one reached as core1 of A" in reason(tour, plans[1], "core1")
    assert not list(tmp_path.glob("*.yaml"))


@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
def test_one_device_behind_two_jump_hosts_is_known_by_its_host_key(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS)
    port = devices.start(shell)
    plans = [plan_of("A", core1="127.0.0.1"), plan_of("B", core1="192.0.2.2")]
    with openssh.sshd(tmp_path / "one") as one, openssh.sshd(tmp_path / "two") as two:
        (tmp_path / "known").write_text(devices.known_hosts + one.known_host + two.known_host)
        (tmp_path / "config").write_text(
            f"Host 127.0.0.1\n ProxyJump one\n Port {port}\n"
            f"Host 192.0.2.2\n HostName 127.0.0.1\n ProxyJump two\n Port {port}\n"
            f"Host one\n HostName 127.0.0.1\n Port {one.port}\nHost two\n HostName 127.0.0.1\n Port {two.port}\n"
        )
        environment = {"AUDITOR_USER": USER, "AUDITOR_PASSWORD": PASSWORD}
        for name, server in (("ONE", one), ("TWO", two)):
            environment |= {f"AUDITOR_USER_{name}": server.user, f"AUDITOR_KEY_{name}": str(server.key_file)}
        access = Access(tmp_path / "config", tmp_path / "known", environment=environment)
        tour = capture(plans, access, Limits(device_seconds=300, tries=1))
    assert shell.sessions == 2
    assert "is also the one reached as core1 of B" in reason(tour, plans[0], "core1")
    assert "is also the one reached as core1 of A" in reason(tour, plans[1], "core1")


def test_the_same_host_key_elsewhere_is_a_note(devices: Lab, tmp_path: Path):
    """As where one image was put on many devices (common practice, no source)."""
    ports = [devices.start(Shell(answers=ANSWERS)) for _ in range(2)]
    plans = [plan_of("A", core1="192.0.2.1"), plan_of("B", core1="192.0.2.2")]
    config = "".join(f"Host 192.0.2.{n}\n HostName 127.0.0.1\n Port {port}\n" for n, port in enumerate(ports, 1))
    tour = toured(tmp_path, devices, config, *plans)
    for plan, other in (plans, plans[::-1]):
        captured = tour.of(plan).capture("core1")
        assert isinstance(captured, Captured)
        elsewhere = f"it was read at 127.0.0.1, and the plan has {plan.data.devices['core1'].address}"
        shared = f"it has the same host key as core1 of {other.data.reference}: give each device a key of its own"
        assert captured.notes == (elsewhere, shared)
        assert told(tmp_path, plan, "core1")["notes"] == [elsewhere, shared]


def peer(address: str, port: int = 22, via: tuple[tuple[str, int], ...] = (), key: bytes = b"k") -> Peer:
    return Peer((address, port), via, key)


@pytest.mark.parametrize(
    ("other", "one"),
    [
        (peer("10.0.0.1"), True),
        (peer("10.0.0.1", key=b"another kind"), True),
        (peer("10.0.0.1", via=(("192.0.2.1", 22),)), True),
        (peer("10.0.0.1", via=(("192.0.2.1", 22),), key=b"of another"), False),
        (peer("10.0.0.1", 2222), False),
        (peer("10.0.0.2"), False),
    ],
)
def test_what_makes_two_devices_one(other: Peer, one: bool):
    assert peer("10.0.0.1").is_one_with(other) is one
    assert other.is_one_with(peer("10.0.0.1")) is one


def test_a_result_waits_for_those_alone_that_may_be_the_same_device():
    keys = {name: frozenset({b"k"}) for name in ("a", "b", "again")} | {"c": frozenset({b"c"})}
    peers: Peers[str, str] = Peers(keys, {"a": "a", "again": "a", "b": "b", "c": "c"})
    peers.reached("c", peer("10.0.0.3", key=b"c"))
    assert [settled.result for settled in peers.ended("c", "c is read")] == ["c is read"]
    peers.reached("a", peer("10.0.0.1"))
    assert peers.ended("a", "a is read") == []
    assert peers.due() == []
    peers.reached("b", peer("10.0.0.1"))
    (first,) = peers.due()
    assert (first.result, first.same) == ("a is read", ["b"])
    assert peers.ended("b", "b is read") == []
    peers.reached("again", peer("10.0.0.1"))
    (second,) = peers.due()
    assert (second.result, second.same, second.same_key) == ("b is read", ["a", "again"], [])
    (third,) = peers.ended("again", "read again")
    assert third.same == ["b"]


def test_nothing_is_held_for_what_is_not_reached_any_more():
    keys = {name: frozenset({b"k"}) for name in ("a", "b")}
    peers: Peers[str, str] = Peers(keys, {name: name for name in keys})
    peers.reached("a", peer("10.0.0.1"))
    assert peers.ended("a", "a is read") == []
    (rest,) = peers.rest()
    assert (rest.result, rest.same, rest.same_key) == ("a is read", [], [])


def test_hosts_have_one_spelling():
    for text in ("FE80:0::1%lo", "fe80::1%lo"):
        assert normalized(text).startswith("fe80::1%")
    assert normalized("2001:DB8:0:0::1") == normalized("2001:db8::0.0.0.1") == "2001:db8::1"
    assert normalized("SW1.Example.NET.") == "sw1.example.net"
    assert normalized("BÜRO-sw1.example") == normalized("xn--bro-sw1-n2a.example")
    assert of_peer(("::ffff:192.0.2.1", 22, 0, 0)) == "192.0.2.1"
    assert of_peer(("fe80::1%eth0", 22, 0, 3)) == "fe80::1%3"
    assert resolved({"no-such-name.invalid"}) == {"no-such-name.invalid": frozenset({"no-such-name.invalid"})}


def test_a_list_of_names_is_short():
    assert listed(["c of A", "a of A"]) == "a of A, c of A"
    assert listed(list("edcba")) == "a, b, c and 2 more"
