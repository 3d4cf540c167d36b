"""Captures of small business switches read a second time by a few lines of the test's own; both must say the same.

Real configurations are read where there are any, those of the made-up site always. What lines that are not there mean
is from memory of the vendor's command reference and of such configurations.
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

NAME = "cisco_s300"
MADE_UP = [Device(NAME, p.name, (p,)) for p in sorted((FIXTURES / "drifts" / NAME / "conforming").rglob("*.cfg"))]
each_device = pytest.mark.parametrize("device", [*devices_in(CORPUS, NAME), *MADE_UP], ids=lambda device: device.name)
LONG = {"fa": "FastEthernet", "gi": "GigabitEthernet", "te": "TenGigabitEthernet", "po": "Port-channel", "vl": "Vlan"}


def parsed(device):
    """Return the ids of the VLAN database, the lines of each interface by its long name, and if ports are trunks."""
    text = re.sub(r"(?s)banner \w+ \x03.*?\x03", "", device.paths[0].read_text(encoding="utf-8"))
    interfaces: dict[str, list[str]] = defaultdict(list)
    name = None
    for line in text.split("\n"):
        if match := re.match(r"interface (\D+?) ?([\d/]+) *$", line):
            name = LONG[match[1][:2].lower()] + match[2]
            interfaces[name] += []
        elif line.startswith(" ") and name:
            interfaces[name].append(line.strip())
        elif not line.startswith("!"):
            name = None
    database = "".join(re.findall(r"(?m)^vlan database\n((?:vlan .*\n)*)", text))
    ids = {vid for part in re.findall(r"vlan ([\d,-]+)", database) for vid in vlanconfig_to_list(part)}
    return ids, interfaces, "switchport mode trunk" not in text and "\nv1." in text


def said(lines, pattern, default=None):
    return next((match[1] for line in lines if (match := re.fullmatch(pattern, line))), default)


def vlans_of(lines, old):
    """Return untagged and tagged VLANs of a port."""
    trunk = any(re.match(r"switchport trunk", line) for line in lines) and "switchport mode access" not in lines
    mode = said(lines, r"switchport mode (\w+)", "trunk" if old and trunk else "access")
    forbidden = {1} if "switchport forbidden default-vlan" in lines else set()
    if mode == "access":
        return int(said(lines, r"switchport access vlan (\d+)", 1)), set()
    if mode == "trunk":
        native = int(said(lines, r"switchport trunk native vlan (\d+)", 1))
        allowed = {native} if old else set(range(1, 4095))
        lists = (re.fullmatch(r"switchport trunk allowed vlan (add )?([\d,-]+)", line) for line in lines)
        for how, vids in (match.groups() for match in lists if match):
            allowed = (allowed if how else set()) | set(vlanconfig_to_list(vids))
        allowed -= forbidden
        return native if native in allowed else None, allowed - {native}
    pvid = int(said(lines, r"switchport general pvid (\d+)", 1))
    how = {1: "untagged"}
    for line in lines:
        if match := re.fullmatch(r"switchport general allowed vlan (add|remove) ([\d,-]+) ?(\w*)", line):
            how |= dict.fromkeys(vlanconfig_to_list(match[2]), "" if match[1] == "remove" else match[3] or "tagged")
    in_it = {vid for vid, word in how.items() if word} - forbidden
    untagged = pvid if pvid in in_it and how[pvid] == "untagged" else None
    return untagged, in_it - {untagged}


@each_device
def test_vlans_and_ports(device):
    state = device.read().state
    ids, interfaces, old = parsed(device)
    assert set(state.vlans) == ids
    names = {int(name[4:]): said(lines, r'name "?(.*?)"?') for name, lines in interfaces.items() if name[:4] == "Vlan"}
    assert {vid: vlan.name for vid, vlan in state.vlans.items()} == {vid: names.get(vid) or str(vid) for vid in ids}
    in_bundles = {name for name, lines in interfaces.items() if said(lines, r"channel-group (\d+).*")}
    ports = {name: lines for name, lines in interfaces.items() if name[:4] != "Vlan" and name not in in_bundles}
    assert sorted(state.ports) == sorted(ports)
    for name, lines in ports.items():
        found = state.ports[name]
        assert (name, found.enabled) == (name, "shutdown" not in lines)
        assert found.description == said(lines, r'description "?(.*?)"?'), name
        if "no switchport" not in lines:
            assert (name, found.untagged, set(found.tagged)) == (name, *vlans_of(lines, old))


@each_device
def test_addresses(device):
    gateways = device.read().state.gateways
    for name, lines in parsed(device)[1].items():
        if name.startswith("Vlan"):
            told = [line.split()[2:] for line in lines if line.startswith("ip address ")]
            wanted = {"dhcp" if words == ["dhcp"] else str(IPv4Interface("/".join(words))) for words in told}
            assert (name, set(gateways.get(int(name[4:]), Gateway()).addresses)) == (name, wanted)
