"""DHCP snooping on the way between clients and their server. What a trusted port is: common practice, no source."""

from __future__ import annotations

import re

import pytest

from tests.compare.site import conforming

SNOOPED = "dhcp-snooping\ndhcp-snooping vlan 10\n"
TRUSTED = [
    ("bench1.cfg", SNOOPED + "dhcp-snooping trust Trk1\n", ""),
    ("bench1.cfg", SNOOPED + "dhcp-snooping trust A9,A10\n", "Trk1, the port towards its server core1, is not trusted"),
    ("core1.cfg", SNOOPED + "dhcp-snooping trust 1\n", ""),  # it is the server itself
]
ALLOWED = [
    ("bench1.cfg", "10", ["10.71.10.2"], False),
    ("bench1.cfg", "10", ["10.71.10.1"], False),
    ("bench1.cfg", "10", ["10.71.99.5"], True),
    ("bench1.cfg", "20", ["10.71.99.5", "10.71.99.6"], False),
    ("bench1.cfg", "20", ["10.71.20.1"], False),
    ("core1.cfg", "20", ["10.71.99.5", "10.71.99.6"], False),
    ("core1.cfg", "20", ["10.71.99.5"], True),
    ("core1.cfg", "10", ["10.71.99.5"], False),
]


def told_of(file: str, lines: str) -> tuple[int, list[str]]:
    site = conforming("hp_procurve")
    text = site.text(file)
    report = site.having(file, re.sub(r"\nvlan 1\b", f"\n{lines}vlan 1", text, count=1)).audited()
    assert report.findings == []
    return report.exit_code, [line.why for device in report.devices for line in device.overriding]


@pytest.mark.parametrize(("file", "lines", "why"), TRUSTED)
def test_the_port_towards_the_server_has_to_be_trusted(file: str, lines: str, why: str) -> None:
    code, told = told_of(file, lines)
    if why:
        assert code == 3
        assert any(why in text for text in told)
    else:
        assert (code, told) == (0, [])


@pytest.mark.parametrize(("file", "vid", "servers", "kept"), ALLOWED)
def test_where_servers_are_listed_the_planned_one_is_among_them(
    file: str, vid: str, servers: list[str], kept: bool
) -> None:
    listed = "".join(f"dhcp-snooping authorized-server {server}\n" for server in servers)
    trust = f"dhcp-snooping\ndhcp-snooping vlan {vid}\ndhcp-snooping trust Trk1\n"
    code, told = told_of(file, trust + listed)
    assert code == (3 if kept else 0)
    assert any("not among those that may answer" in text for text in told) == kept
