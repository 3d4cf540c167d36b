"""AOS-CX captures read a second time by a small reader of the tests' own: blocks by indentation, one line at a time."""

from __future__ import annotations

import re

import pytest

from auditor.core.state import Gateway
from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

PLATFORM = "aruba_aoscx"
OWN = sorted((FIXTURES / "drifts" / PLATFORM / "conforming").iterdir())
DEVICES = [*devices_in(CORPUS, PLATFORM), *(Device(PLATFORM, path.name, (path,)) for path in OWN)]
each = pytest.mark.parametrize("device", DEVICES, ids=lambda device: device.name)
EVERY = set(range(1, 4095))


def blocks_of(device):
    """Return by first line the lines below it without their indentation, but those of banners and comments."""
    text = re.sub(r"(?ms)^banner motd (\S)$.*?^\1$", "", device.paths[0].read_text(encoding="utf-8"))
    found: dict[str, list[str]] = {}
    lines: list[str] = []
    for line in text.split("\n"):
        if line.strip() and not line.startswith((" ", "!")):
            lines = found.setdefault(re.sub(r" multi-chassis.*", "", line.strip()), [])
        elif line.strip():
            lines.append(line.strip())
    return found


def numbers(text):
    pieces = [piece.split("-") for piece in text.split(",")]
    return {vid for piece in pieces for vid in range(int(piece[0]), int(piece[-1]) + 1)}


def said(lines, pattern):
    return next((match[1] for line in lines if (match := re.fullmatch(pattern, line))), None)


def port_of(lines):
    """Return untagged and tagged VLANs of a port; a trunk without a list carries all (HPE's CLI guide, from memory)."""
    if said(lines, r"vlan access (\d+)"):
        return int(said(lines, r"vlan access (\d+)")), set()
    native, allowed = said(lines, r"vlan trunk native (\d+)( tag)?"), said(lines, r"vlan trunk allowed (\S+)")
    if native is None and allowed is None:
        return (1, set()) if "no routing" in lines else (None, set())
    carried = EVERY if allowed in (None, "all") else numbers(allowed)
    untagged = int(native or 1) if f"vlan trunk native {native} tag" not in lines else None
    return untagged if untagged in carried else None, carried - {untagged}


@each
def test_vlans(device):
    declared = [numbers(head.split()[1]) for head in blocks_of(device) if re.fullmatch(r"vlan [\d,-]+", head)]
    assert set(device.read().state.vlans) == set().union(*declared)


@each
def test_ports(device):
    state, blocks = device.read().state, blocks_of(device)
    for head, lines in blocks.items():
        match = re.fullmatch(r"interface ((?:\d+/)+\d+|lag \d+)", head)
        if not match or said(lines, r"lag (\d+)"):
            assert not match or match[1] not in state.ports
            continue
        port = state.ports[match[1].replace(" ", "")]
        untagged, tagged = port_of(lines)
        assert (port.enabled, port.untagged) == ("no shutdown" in lines, untagged), head
        assert set(port.tagged) | ({port.voice} - {None}) == tagged, head
        assert port.description == said(lines, r"description (.*)"), head


@each
def test_addresses_of_vlans(device):
    gateways = device.read().state.gateways
    for head, lines in blocks_of(device).items():
        if match := re.fullmatch(r"interface vlan (\d+)", head):
            found = gateways.get(int(match[1]), Gateway())
            assert set(found.addresses) == {line.split()[2] for line in lines if re.match(r"ip address \d", line)}, head
            shared = r"(?:active-gateway ip|address) ([\d.]+)(?: primary)?"
            assert set(found.shared_addresses) == {m[1] for line in lines if (m := re.fullmatch(shared, line))}, head


@each
def test_dhcp_pools(device):
    lines = blocks_of(device).get("dhcp-server vrf default", [])
    ranges = {f"{m[1]}-{m[2]}" for line in lines if (m := re.match(r"range (\S+) (\S+)", line))}
    assert {pool for scope in device.read().state.dhcp.values() for pool in scope.pools} == ranges
