"""Captures of JetStream switches read a second time by a few lines of the test's own; both must say the same.

Real configurations are read where there are any, those of the made-up site always. That every port begins in VLAN 1
and that lists add up is from memory of the vendor's command reference.
"""

from __future__ import annotations

import re
from collections import defaultdict
from ipaddress import IPv4Interface

import pytest
from netutils.vlan import vlanconfig_to_list

from auditor.core.state import Gateway
from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

NAME = "tplink_jetstream"
MADE_UP = [Device(NAME, p.name, (p,)) for p in sorted((FIXTURES / "drifts" / NAME / "conforming").iterdir())]
each_device = pytest.mark.parametrize("device", [*devices_in(CORPUS, NAME), *MADE_UP], ids=lambda device: device.name)


def blocks(device):
    """Return the lines between two signs, by the first that opens an interface or VLANs."""
    found: dict[str, list[str]] = defaultdict(list)
    text = device.paths[0].read_text(encoding="utf-8").replace("\r", "")
    for block in re.split(r"(?m)^#.*$", text):
        lines = [line.strip() for line in block.split("\n") if line.strip()]
        heads = [number for number, line in enumerate(lines) if re.match(r"interface |vlan \d", line)]
        if heads:
            found[lines[heads[0]]] += lines[heads[0] + 1 :]
    return found


def said(lines, pattern, default=None):
    return next((match[1] for line in lines if (match := re.fullmatch(pattern, line))), default)


def vlans_of(lines):
    """Return untagged and tagged VLANs of a port."""
    lists = any(re.match(r"(no )?switchport (general|pvid)", line) for line in lines)
    mode = said(lines, r"switchport mode (\w+)", "general" if lists else "access")
    if mode == "access":
        return int(said(lines, r"switchport access vlan (\d+)", 1)), set()
    pvid = int(said(lines, r"switchport pvid (\d+)", 1))
    how = {1: "untagged"}
    for line in lines:
        if match := re.fullmatch(r"(no )?switchport (?:general|trunk) allowed vlan ([\d,-]+) ?(\w*)", line):
            how |= dict.fromkeys(vlanconfig_to_list(match[2]), "" if match[1] else match[3] or "by pvid")
    in_it = {vid for vid, word in how.items() if word}
    untagged = pvid if pvid in in_it and (mode == "trunk" or how[pvid] == "untagged") else None
    return untagged, in_it - {untagged}


@each_device
def test_vlans_and_ports(device):
    state, found = device.read().state, blocks(device)
    declared: dict[int, str | None] = {}
    for head, lines in found.items():
        if head.startswith("vlan "):
            for vid in vlanconfig_to_list(head.split()[1]):
                declared[vid] = said(lines, r'name "(.*)"') or declared.get(vid)
    assert {vid: vlan.name for vid, vlan in state.vlans.items()} == declared
    interfaces = {head[10:].replace(" ", ""): lines for head, lines in found.items() if head.startswith("interface ")}
    ports = {
        name: lines
        for name, lines in interfaces.items()
        if not name.startswith("vlan") and not said(lines, r"channel-group (\d+) .*")
    }
    assert sorted(state.ports) == sorted(ports)
    for name, lines in ports.items():
        port = state.ports[name]
        assert (name, port.enabled, port.description) == (
            name,
            "shutdown" not in lines,
            said(lines, r'description "(.*)"'),
        )
        if "no switchport" not in lines:
            tagged = {*port.tagged, port.voice} - {None}
            assert (name, port.untagged, tagged) == (name, *vlans_of(lines))


@each_device
def test_addresses(device):
    gateways = device.read().state.gateways
    for head, lines in blocks(device).items():
        if head.startswith("interface vlan"):
            told = [line.split()[2:4] for line in lines if line.startswith("ip address ")]
            wanted = {str(IPv4Interface("/".join(words))) for words in told}
            assert (head, set(gateways.get(int(head.split()[2]), Gateway()).addresses)) == (head, wanted)
