"""Captures of AOS-S switches read a second time by a few lines of the test's own; both readings must say the same.

Nothing here knows how auditor reads: a block is a line at the margin and the indented lines below it, and a VLAN's
lists of ports are turned round by netutils' expansion of ranges.
"""

from __future__ import annotations

import re
from collections import defaultdict
from ipaddress import IPv4Interface

import pytest
from netutils.interface import interface_range_expansion

from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

PLATFORM = "hp_procurve"
OWN = sorted((FIXTURES / "drifts" / PLATFORM / "conforming").iterdir())
DEVICES = [*devices_in(CORPUS, PLATFORM), *(Device(PLATFORM, path.name, (path,)) for path in OWN)]
each_device = pytest.mark.parametrize("device", DEVICES, ids=lambda device: device.name)


def blocks_of(device):
    """Return (first line, lines below it) of each block of a capture."""
    text = device.paths[0].read_text(encoding="utf-8", errors="replace").replace("\r", "")
    found: list[tuple[str, list[str]]] = []
    for line in text.split("\n"):
        if re.match(r"[ \t]+\S", line) and found:
            found[-1][1].append(line.strip())
        elif line.strip() and not line.startswith((";", "!")):
            found.append((line.strip(), []))
    return found


def ports_of(text):
    """Return the ports of a list such as 1-2,A1-A4,Trk1."""
    found = set()
    for piece in text.split(","):
        ends = re.fullmatch(r"(.*?)(\d+)-\1(\d+)", piece, re.IGNORECASE)
        found |= set(interface_range_expansion(f"{ends[1]}[{ends[2]}-{ends[3]}]")) if ends else {piece}
    return found


def listed(device, word):
    """Return by port the VLANs that list it as tagged or untagged."""
    found = defaultdict(set)
    for vid, lines in vlans_of(device):
        for line in lines:
            if match := re.fullmatch(rf"{word} (\S+)", line):
                for port in ports_of(match[1]):
                    found[port].add(vid)
    return found


def vlans_of(device):
    return [(int(head.split()[1]), lines) for head, lines in blocks_of(device) if re.fullmatch(r"vlan \d+", head)]


def names_in(lines):
    return [match[1] for line in lines if (match := re.fullmatch(r'name "(.*)"', line))]


@each_device
def test_vlans_and_their_names(device):
    named = {vid: name for vid, lines in vlans_of(device) for name in names_in(lines)}
    assert {vid: vlan.name for vid, vlan in device.read().state.vlans.items()} == named


@each_device
def test_vlans_of_ports(device):
    tagged, untagged = listed(device, "tagged"), listed(device, "untagged")
    voice = {vid for vid, lines in vlans_of(device) if "voice" in lines}
    ports = device.read().state.ports
    assert {name for name, port in ports.items() if port.mode != "routed"} == tagged.keys() | untagged.keys()
    for name in tagged.keys() | untagged.keys():
        port = ports[name]
        assert {port.untagged} - {None} == untagged[name], name
        assert {*port.tagged, port.voice} - {None} == tagged[name], name
        assert port.voice is None or port.voice in voice
        assert (port.mode == "trunk") == bool(port.tagged)


@each_device
def test_ports_that_are_off_and_what_they_are_called(device):
    off: set[str] = set()
    called: dict[str, str] = {}
    for head, lines in blocks_of(device):
        if match := re.fullmatch(r"interface (\S+)", head):
            off |= ports_of(match[1]) if "disable" in lines else set()
            called.update(dict.fromkeys(names_in(lines) and [match[1]], "".join(names_in(lines))))
    ports = device.read().state.ports
    assert {name for name, port in ports.items() if not port.enabled} == off
    assert {name: port.description for name, port in ports.items() if port.description} == called


@each_device
def test_addresses_of_vlans(device):
    wanted = defaultdict(set)
    for vid, lines in vlans_of(device):
        for line in lines:
            if match := re.fullmatch(r"ip address ([\d.]+) ([\d.]+)", line):
                wanted[vid].add(str(IPv4Interface(f"{match[1]}/{match[2]}")))
            elif line == "ip address dhcp-bootp":
                wanted[vid].add("dhcp")
    found = {vid: set(gateway.addresses) for vid, gateway in device.read().state.gateways.items()}
    assert {vid: addresses for vid, addresses in found.items() if addresses} == wanted
