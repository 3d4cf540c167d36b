"""VyOS and EdgeOS captures read a second time by a few lines of the tests' own; both readings must say the same.

Every setting is brought to the words that lead to it, whichever way it is written; auditor's own ways are not used.
"""

from __future__ import annotations

import re
import shlex
from collections import defaultdict
from ipaddress import IPv4Address

import pytest

from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

PLATFORMS = ("vyos", "ubiquiti_edgerouter")
CAPTURES = [
    *(device for platform in PLATFORMS for device in devices_in(CORPUS, platform)),
    *(
        Device(platform, path.name, (path,))
        for platform in PLATFORMS
        for path in sorted((FIXTURES / "drifts" / platform / "conforming").iterdir())
    ),
]
each_capture = pytest.mark.parametrize("device", CAPTURES, ids=lambda device: f"{device.platform}-{device.name}")


def words_of(line):
    try:
        return shlex.split(line)
    except ValueError:
        return line.split()


def paths_of(device):
    """Return the words of every setting and block."""
    text = device.paths[0].read_text(encoding="utf-8", errors="replace").replace("\r", "")
    found: list[list[str]] = []
    around: list[list[str]] = []
    for line in map(str.strip, re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL).split("\n")):
        before = [word for words in around for word in words]
        if line.startswith("set ") and not around:
            found.append(words_of(line)[1:])
        elif line == "}":
            around.pop()
        elif line.endswith("{"):
            around.append(words_of(line[:-1]))
            found.append([*before, *around[-1]])
        elif line and not line.startswith(("//", "#")):
            found.append([*before, *words_of(re.sub(r"\{\s*\}$", "", line))])
    return found


def interfaces_of(device):
    """Return by name (``eth1``, ``eth1.10``) what is said of each interface, the rest of the words of each setting."""
    found = defaultdict(list)
    for path in paths_of(device):
        match path:
            case ["interfaces", _, name, "vif", tag, *rest]:
                found[f"{name}.{tag}"].append(rest)
                found.setdefault(name, [])
            case ["interfaces", _, name, *rest]:
                found[name].append(rest)
    return found


def first(lines, *begin):
    """Return the words behind a beginning, of the first line that has it."""
    return next((line[len(begin) :] for line in lines if tuple(line[: len(begin)]) == begin), None)


def is_down(interfaces, name):
    return ["disable"] in interfaces[name] or ["disable"] in interfaces.get(name.partition(".")[0], [])


def tables_of(interfaces):
    """Return by port the untagged and the tagged VLANs that a bridge or switch that keeps VLANs apart gives it."""
    found: dict[str, tuple[set[int], set[int]]] = {}
    for lines in interfaces.values():
        aware = ["enable-vlan"] in lines or ["switch-port", "vlan-aware", "enable"] in lines
        for line in lines if aware else ():
            match line:
                case ["member" | "switch-port", "interface", port, *rest]:
                    untagged, tagged = found.setdefault(port, (set(), set()))
                    match rest:
                        case ["native-vlan", vid] | ["vlan", "pvid", vid]:
                            untagged.add(int(vid))
                        case ["allowed-vlan", vids] | ["vlan", "vid", vids]:
                            ends = [int(end) for end in vids.split("-")]
                            tagged.update(range(ends[0], ends[-1] + 1))
    return found


@each_capture
def test_ports(device):
    ports, interfaces = device.read().state.ports, interfaces_of(device)
    bundled = {line[2] for lines in interfaces.values() for line in lines if line[:2] == ["member", "interface"]}
    names = [n for n in interfaces if re.fullmatch(r"(eth|bond)\d+", n)]
    assert set(ports) <= set(names)
    assert set(names) - set(ports) <= bundled
    for name in ports:
        described = first(interfaces[name], "description")
        assert ports[name].description == (described[0] if described and described[0] else None), name
        assert ports[name].enabled is not is_down(interfaces, name)


@each_capture
def test_vlans_of_ports(device):
    """A tagged interface makes its port a trunk; on a bridge that keeps VLANs apart the port's own list counts."""
    state, interfaces = device.read().state, interfaces_of(device)
    tables = tables_of(interfaces)
    plain = {line[2] for lines in interfaces.values() for line in lines if line[:2] == ["switch-port", "interface"]}
    for name, port in state.ports.items():
        if name in tables:
            untagged, tagged = tables[name]
            assert {port.untagged} - {None} == untagged, name
            assert set(port.tagged) == tagged - untagged, name
        elif name not in plain:
            tags = {
                int(n.partition(".")[2])
                for n in interfaces
                if n.startswith(f"{name}.") and ["disable"] not in interfaces[n]
            }
            assert set(port.tagged) == tags, name
            assert port.mode == ("trunk" if tags else "routed"), name
    tags = {int(name.partition(".")[2]) for name in interfaces if "." in name}
    assert tags | {vid for untagged, _ in tables.values() for vid in untagged} <= set(state.vlans)


@each_capture
def test_addresses(device):
    state, interfaces = device.read().state, interfaces_of(device)
    for name, lines in interfaces.items():
        fixed = {line[1] for line in lines if line[:1] == ["address"] and re.fullmatch(r"[\d.]+/\d+", line[1])}
        vid = name.partition(".")[2]
        if vid and not is_down(interfaces, name):
            found = state.gateways.get(int(vid))
            assert (set(found.addresses) - {"dhcp"} if found else set()) == fixed, name
        elif name in state.ports and fixed and not is_down(interfaces, name):
            uplink = state.uplinks[name]
            assert uplink.address in fixed or (uplink.method == "pppoe" and first(lines, "pppoe")), name


@each_capture
def test_dhcp_pools(device):
    wanted = defaultdict(set)
    for path in paths_of(device):
        match path:
            case ["service", "dhcp-server", "shared-network-name", name, "subnet", prefix, *rest]:
                match rest:
                    case ["range", number, ("start" | "stop") as end, address]:
                        wanted[prefix].add((name, number, end, address))
                    case ["start", start, "stop", stop]:
                        wanted[prefix] |= {(name, start, "start", start), (name, start, "stop", stop)}
    scopes = device.read().state.dhcp
    assert set(scopes) == set(wanted)
    for prefix, ends in wanted.items():
        told = {(name, number, end): address for name, number, end, address in ends}
        spans = [
            (IPv4Address(address), IPv4Address(told[name, number, "stop"]))
            for (name, number, end), address in told.items()
            if end == "start"
        ]
        assert set(scopes[prefix].pools) == {f"{start}-{stop}" for start, stop in spans}, prefix
