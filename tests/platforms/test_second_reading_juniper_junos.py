"""Junos read a second time by a few lines of the test's own; both readings must say the same.

Blocks in braces are made whole paths by counting braces, as ``show configuration | display set`` does; nothing here
knows how auditor reads. What the statements mean is common practice, no source.
"""

from __future__ import annotations

import re
from fnmatch import fnmatch

import pytest

from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

HOME = FIXTURES / "drifts" / "juniper_junos" / "conforming"
PORT = r"(?:ge|mge|xe|et|fe|ae|reth)[\d/-]+"


def devices():
    made_up = [Device("juniper_junos", path.name, (path,)) for path in sorted(HOME.iterdir())]
    return [*made_up, *devices_in(CORPUS, "juniper_junos")]


each = pytest.mark.parametrize("device", devices(), ids=lambda device: device.name)


def statements(text):
    """Yield every statement as one line of words; one a word of a list."""
    path = []
    for line in re.sub(r"(?m)#.*$|/\*.*?\*/", "", text).replace("\r", "").split("\n"):
        words = line.strip()
        if words.startswith("set "):
            yield words[4:]
        elif words.endswith("{"):
            path.append(words[:-1].strip())
        elif words.startswith("}"):
            path = path[:-1]
        elif match := re.fullmatch(r"(.*)\[ (.*) \];", words):
            yield from (" ".join([*path, match[1] + word]) for word in match[2].split())
        elif words.endswith(";"):
            yield " ".join([*path, words[:-1].strip()])


class Second:
    """What the statements of a configuration say, by port and by VLAN."""

    def __init__(self, text):
        self.lines = [line for line in statements(text) if "inactive:" not in line]
        self.lines += self.inherited()
        self.ranges: dict[str, set[str]] = {}
        for name, first, last in self.found(r"interfaces interface-range (\S+) member(?:-range)? (\S+?)(?: to (\S+))?"):
            stem, _, start = first.rpartition("/")
            if "*" in first:
                continue
            numbers = range(int(start), int((last or first).rpartition("/")[2]) + 1)
            self.ranges.setdefault(name, set()).update(f"{stem}/{number}" for number in numbers)
        self.ids = {name: int(vid) for name, vid in self.found(r"vlans (\S+) vlan-id (\d+)")}
        tags = self.found(rf"interfaces ({PORT}) unit (\d+) (?:vlan-id|vlan-tags outer) (\d+)")
        self.tags = {f"{port}.{unit}": int(vid) for port, unit, vid in tags}

    def inherited(self):
        """Yield what ports have of groups that they apply, whose names of interfaces are patterns in <>."""
        of_groups = self.found(r"groups (\S+) interfaces <(\S+)> (.*)")
        for port, group in self.found(r"interfaces (\S+) apply-groups (\S+)"):
            yield from (
                f"interfaces {port} {rest}"
                for name, pattern, rest in of_groups
                if name == group and fnmatch(port, pattern)
            )

    def found(self, pattern):
        matches = [re.fullmatch(pattern, line) for line in self.lines]
        return [match.groups() if match.re.groups > 1 else match[1] for match in matches if match]

    def of_ports(self, rest):
        """Yield port and value of a statement about ports or ranges of them."""
        for owner, value in self.found(rf"interfaces ((?:interface-range )?\S+) {rest}"):
            if owner.startswith("interface-range "):
                yield from ((port, value) for port in self.ranges.get(owner.split()[1], ()))
            elif re.fullmatch(PORT, owner):
                yield owner, value

    def numbers(self, name):
        if name == "all":
            return set(range(1, 4095))
        first, _, last = name.partition("-")
        if first.isdecimal():
            return set(range(int(first), int(last or first) + 1))
        return {self.ids.get(name, 1)}


@each
def test_vlans_and_their_names(device):
    second = Second(device.paths[0].read_text(errors="replace"))
    state = device.read().state
    vids = {*second.ids.values(), *second.tags.values()}
    assert vids == set(state.vlans) - {1} | ({1} & vids)
    assert {vid: state.vlans[vid].name for vid in second.ids.values()} == {v: n for n, v in second.ids.items()}


@each
def test_members_of_ports(device):
    second = Second(device.paths[0].read_text(errors="replace"))
    ports = device.read().state.ports
    unit = "unit 0 family ethernet-switching"
    members: dict[str, set[int]] = {}
    for port, name in second.of_ports(rf"{unit} vlan members (\S+)"):
        members.setdefault(port, set()).update(second.numbers(name))
    for name, port in second.found(r"vlans (\S+) interface (\S+?)(?:\.0)?"):
        members.setdefault(port, set()).update(second.numbers(name))
    trunks = {port for port, mode in second.of_ports(rf"{unit} (?:port|interface)-mode (\S+)") if mode == "trunk"}
    trunks |= {unit.partition(".")[0] for unit in second.tags}
    native = {port: {int(vid)} for port, vid in second.of_ports(rf"(?:{unit} )?native-vlan-id (\d+)")}
    assert {name for name, port in ports.items() if port.mode == "trunk"} == trunks
    for port, vids in members.items():
        untagged = {ports[port].untagged}
        assert untagged | ports[port].tagged | {None} == vids | native.get(port, set()) | {None}, port
        assert port not in trunks or untagged == native.get(port, {None}), port


@each
def test_ports_that_are_off(device):
    second = Second(device.paths[0].read_text(errors="replace"))
    off = {port for port, _ in second.of_ports(r"(?:unit 0 )?(disable)")}
    assert {name for name, port in device.read().state.ports.items() if not port.enabled} == off


@each
def test_addresses(device):
    second = Second(device.paths[0].read_text(errors="replace"))
    state = device.read().state
    pattern = r"interfaces (\S+) unit (\d+) family inet address (\S+)(?: .*)?"
    addresses = [(f"{port}.{unit}", address) for port, unit, address in second.found(pattern)]
    of_vlans = {unit: second.ids.get(name, 1) for name, unit in second.found(r"vlans (\S+) l3-interface (\S+)")}
    of_vlans |= second.tags
    wanted = {(of_vlans[unit], address) for unit, address in addresses if unit in of_vlans}
    assert {(vid, address) for vid, gateway in state.gateways.items() for address in gateway.addresses} == wanted
    static = {(unit.removesuffix(".0"), address) for unit, address in addresses if re.fullmatch(rf"{PORT}\.0", unit)}
    assert {(port, uplink.address) for port, uplink in state.uplinks.items() if uplink.address} == static


@each
def test_servers_and_logins(device):
    second = Second(device.paths[0].read_text(errors="replace"))
    management = device.read().state.management
    assert set(management.ntp) == set(second.found(r"system ntp server (\S+)(?: .*)?"))
    assert set(management.dns) == set(second.found(r"system name-server (\S+)"))
    logins = second.found(r"system services (?:web-management )?(ssh|telnet|https?)(?: .*)?")
    assert set(management.logins) == set(logins)
    names = second.found(r"system host-name ([\w.-]+)")
    # one that nobody named is Amnesiac: from memory of the CLI user guide; a node of a cluster has a name elsewhere
    assert device.read().state.hostname in (names[-1:] or [None, "Amnesiac"])
