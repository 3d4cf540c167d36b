"""EOS captures read a second time: blocks by netutils' parser, and their lines by a few patterns of the tests' own."""

from __future__ import annotations

import re
from collections import defaultdict

import pytest
from netutils.config.parser import EOSConfigParser
from netutils.vlan import vlanconfig_to_list

from auditor.core.state import Gateway
from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

PLATFORM = "arista_eos"
OWN = sorted((FIXTURES / "drifts" / PLATFORM / "conforming").iterdir())
DEVICES = [*devices_in(CORPUS, PLATFORM), *(Device(PLATFORM, path.name, (path,)) for path in OWN)]
each = pytest.mark.parametrize("device", DEVICES, ids=lambda device: device.name)
EVERY = set(range(1, 4095))


def blocks_of(device):
    """Return by first line the lines right below it."""
    text = device.paths[0].read_text(encoding="utf-8")
    text = re.sub(r"(?ms)^banner login$.*?^EOF$", "", text)
    text = "\n".join(
        line for line in text.split("\n") if line.strip() and not line.strip().startswith(("!", "```", "#"))
    )
    found: dict[str, list[str]] = defaultdict(list)
    for line in EOSConfigParser(text).config_lines:
        if line.parents:
            found[line.parents[0]].append(line.config_line.strip())
        else:
            found[line.config_line] += []
    return found


def said(lines, pattern):
    return next((match[1] for line in lines if (match := re.fullmatch(pattern, line))), None)


def trunk_groups(blocks):
    """Return by VLAN the groups whose trunks alone carry it."""
    found: dict[int, set[str]] = defaultdict(set)
    for head, lines in blocks.items():
        for line in lines if re.fullmatch(r"vlan \d+", head) else ():
            if match := re.fullmatch(r"trunk group (\S+)", line):
                found[int(head.split()[1])].add(match[1])
    return found


def port_of(lines, groups):
    """Return mode, untagged, tagged and voice VLAN of a port (EOS user manual, from memory)."""
    if "no switchport" in lines:
        return "routed", None, set(), None
    native, phone = said(lines, r"switchport trunk native vlan (\d+)"), said(lines, r"switchport phone vlan (\d+)")
    if "switchport mode trunk phone" in lines:
        return "access", int(native or 1), set(), int(phone) if phone else None
    if "switchport mode trunk" not in lines:
        return "access", int(said(lines, r"switchport access vlan (\d+)") or 1), set(), None
    allowed = said(lines, r"switchport trunk allowed vlan (\S+)")
    mine = {match[1] for line in lines if (match := re.fullmatch(r"switchport trunk group (\S+)", line))}
    carried = set(vlanconfig_to_list(allowed)) if allowed else EVERY
    carried -= {vid for vid, wanted in groups.items() if not wanted & mine}
    untagged = int(native or 1) if int(native or 1) in carried else None
    return "trunk", untagged, carried - {untagged}, None


@each
def test_vlans(device):
    blocks = {head: lines for head, lines in blocks_of(device).items() if re.fullmatch(r"vlan \d+", head)}
    named = {int(head.split()[1]): said(lines, r"name (.*)") for head, lines in blocks.items()}
    assert {vid: vlan.name for vid, vlan in device.read().state.vlans.items()} == named


@each
def test_ports(device):
    state, blocks = device.read().state, blocks_of(device)
    groups = trunk_groups(blocks)
    for head, lines in blocks.items():
        match = re.fullmatch(r"interface ((?:Ethernet|Port-Channel)[\d/]+)", head)
        if not match or said(lines, r"channel-group (\d+) .*"):
            assert not match or match[1] not in state.ports
            continue
        port = state.ports[match[1]]
        found = (port.mode, port.untagged, set(port.tagged), port.voice)
        assert found == port_of(lines, groups), head
        assert port.enabled == ("shutdown" not in lines), head
        assert port.description == said(lines, r"description (.*)"), head


@each
def test_addresses_of_vlans(device):
    gateways = device.read().state.gateways
    for head, lines in blocks_of(device).items():
        if match := re.fullmatch(r"interface Vlan(\d+)", head):
            found = gateways.get(int(match[1]), Gateway())
            assert set(found.addresses) == {line.split()[2] for line in lines if re.match(r"ip address \d", line)}, head
            shared = r"(?:vrrp \d+ ipv4|ip address virtual) ([\d.]+)(?:/\d+)?"
            assert set(found.shared_addresses) == {m[1] for line in lines if (m := re.fullmatch(shared, line))}, head
