"""Captures read a second time by small readers of the tests' own; both readings must say the same.

Nothing here knows how auditor reads: IOS is parsed by netutils, UCI by the shell's quoting rules, an export by a few
lines below. Real configurations are read where there are any, the captures of the demo networks always.
"""

from __future__ import annotations

import re
import shlex
from collections import defaultdict
from functools import cache
from ipaddress import IPv4Interface, IPv4Network

import netaddr  # type: ignore[import-untyped]
from netutils.config.parser import IOSConfigParser
from netutils.constants import BASE_INTERFACES
from netutils.interface import interface_range_expansion, split_interface
from netutils.vlan import vlanconfig_to_list

from auditor.core.state import Gateway
from tests.checks import each
from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import demo_devices, devices_in


@cache
def devices_of(platform):
    """Return the captures of a platform; a script with variables and loops is no capture."""
    devices = [*devices_in(CORPUS, platform), *demo_devices(FIXTURES / "networks", platform)]
    return [device for device in devices if platform != "mikrotik_routeros" or not device.is_program()]


def captures(platform):
    """Make a test of a check: it is tried on all captures of a platform."""

    def over(check):
        def test_on_all_captures():
            each(devices_of(platform), check, lambda device: "-".join(device.paths[0].parts[-4:]))

        return test_on_all_captures

    return over


def text_of(path):
    return path.read_text(encoding="utf-8", errors="replace").replace("\r", "")


def values(setting):
    """A setting on which radios disagree is a tuple of what they say."""
    return set(setting) if isinstance(setting, tuple) else {setting}


def addresses_in(ranges):
    parts = [part.split("-") for part in ranges.split(",")]
    return netaddr.IPSet([netaddr.IPNetwork(p[0]) if "/" in p[0] else netaddr.IPRange(p[0], p[-1]) for p in parts])


EVERY = set(range(1, 4095))
ETHERNET = re.compile(r"((?!App)\w*Ethernet|TwentyFiveGigE|Port-channel)[\d/]+")
"""Ports that a cable goes into: an application port leads to what runs inside of the switch."""
AT_THE_MARGIN = re.compile(
    r"(no )?(switchport|description|shut|ip (addr|proxy|dhcp snooping trust)|ipv6 (enable|addr))\b"
)
"""Lines of an interface that pasted text has at the margin: the device is still in that interface."""


class _Lines(IOSConfigParser):
    def _update_same_line_children_configs(self):
        """Leave a line that stands twice where it stands."""


def interfaces_of(path):
    """Return by long name the lines of each interface, in their order, later sections behind earlier ones."""
    found: dict[str, list[str]] = defaultdict(list)
    names: list[str] = []
    for line in _Lines(text_of(path)).config_lines:
        text = re.sub(r"\s+", " ", line.config_line.strip())
        header = None if line.parents else re.fullmatch(r"int(?:erface)? (?:range )?([A-Za-z].*)", text)
        if header or not (line.parents or AT_THE_MARGIN.match(text)):
            names = names_of(header[1]) if header else []
        for name in names:
            found[name] += [] if header else [text]
    return found


SHORT = [*BASE_INTERFACES.items(), ("f", "FastEthernet"), ("g", "GigabitEthernet"), ("vlan", "Vlan")]
LONG_NAMES = {short.lower(): long for short, long in SHORT}


def names_of(text):
    """Return the long names of an interface or a range of them, spelt short or long in any case."""
    names = []
    for part in re.sub(r"(?<=[A-Za-z]) (?=\d)| point-to-point", "", text).split(","):
        ends = re.fullmatch(r"(.*?)(\d+) ?- ?(\d+)", part.strip())
        names += interface_range_expansion(f"{ends[1]}[{ends[2]}-{ends[3]}]") if ends else [part.strip()]
    return [f"{LONG_NAMES.get(letters.lower(), letters)}{number}" for letters, number in map(split_interface, names)]


def last(lines, pattern, default=None):
    found = [match for line in lines if (match := re.fullmatch(pattern, line))]
    return (found[-1][1] if found[-1].groups() else found[-1][0]) if found else default


def is_down(lines):
    return (last(lines, r"(?:no )?shut(?:down)?") or "").startswith("shut")


def allowed_of(lines):
    allowed = set(EVERY)
    for line in lines:
        if match := re.fullmatch(r"switchport trunk allowed vlan (?:(add|remove|except|all|none)\b ?)?([\d,-]*)", line):
            vids = set(vlanconfig_to_list(match[2])) if match[2] else set()
            changed = {"add": allowed | vids, "remove": allowed - vids, "except": EVERY - vids, "all": EVERY}
            allowed = set(changed.get(match[1], vids))
    return allowed


def tags_of(name, interfaces):
    """Return the tags of a port's subinterfaces that are on, and the one that travels untagged."""
    on = [lines for other, lines in interfaces.items() if other.startswith(f"{name}.") and not is_down(lines)]
    tags = {int(tag) for lines in on if (tag := last(lines, r"encapsulation dot1[qQ] (\d+)(?: native)?"))}
    native = [int(tag) for lines in on if (tag := last(lines, r"encapsulation dot1[qQ] (\d+) native"))]
    return tags, native[0] if native else None


def ios_port(name, interfaces, switch, catalyst):
    """Return mode, untagged VLAN and tagged VLANs of a port, as the device would have them.

    A Catalyst switch prints no "dynamic auto", its default, and "no ip address" means nothing on a port that switches
    (from memory of its configuration guide).
    """
    lines = interfaces[name]
    mode = (last(lines, r"switchport mode (\w+).*") or ("dynamic" if catalyst else "access")).lower()
    if last(lines, r"(?:no )?switchport") == "no switchport":
        return "routed", None, set()
    if any(re.match(r"switchport (mode|access|trunk|voice vlan \d)", line) for line in lines):
        if mode != "trunk":
            return mode, int(last(lines, r"switchport access vlan (\d+)", 1)), set()
        allowed, native = allowed_of(lines), int(last(lines, r"switchport trunk native vlan (\d+)", 1))
        return mode, native if native in allowed else None, allowed - {native}
    tags, native = tags_of(name, interfaces)
    if tags:
        return "trunk", native, tags - {native}
    layer3 = any(re.match(r"(no )?ip addr|pppoe|bridge-group", line) for line in lines)
    if catalyst and "/" in name and not any(re.match(r"ip addr|(ip )?vrf", line) for line in lines):
        return mode, 1, set()
    return ("access", 1, set()) if switch and not layer3 else ("routed", None, set())


@captures("cisco_ios")
def test_ios_ports(device):
    state, interfaces = device.read().state, interfaces_of(device.paths[0])
    ports = [name for name in interfaces if ETHERNET.fullmatch(name)]
    assert sorted(name for name in state.ports if not name.startswith("BRI")) == sorted(ports)
    switch = any(re.match("switchport (mode|access|trunk)", line) for name in ports for line in interfaces[name])
    text = device.paths[0].read_text(encoding="utf-8", errors="replace")
    catalyst = bool(re.search(r"(?m)^(spanning-tree extend system-id|switch \d+ provision|system mtu routing)", text))
    for name in ports:
        port, lines = state.ports[name], interfaces[name]
        mode, untagged, tagged = ios_port(name, interfaces, switch, catalyst)
        voice = last(lines, r"switchport voice vlan (\d+)") if mode != "routed" else None
        found = (name, port.enabled, port.mode, port.untagged, port.voice)
        assert found == (name, not is_down(lines), mode, untagged, int(voice) if voice else None)
        assert sorted(port.tagged) == sorted(tagged), name
        assert re.sub(r"\s+", " ", port.description or "") == last(lines, r"description (.*)", ""), name


@captures("cisco_ios")
def test_ios_vlan_interfaces(device):
    gateways, interfaces = device.read().state.gateways, interfaces_of(device.paths[0])
    for name, lines in interfaces.items():
        if (vid := re.fullmatch(r"Vlan(\d+)", name)) and not is_down(lines):
            addresses = [line.split()[2:4] for line in lines if re.match(r"ip addr\w* \d", line)]
            shared = {line.split()[3] for line in lines if re.match(r"(standby|vrrp) \d+ ip \d", line)}
            found = gateways.get(int(vid[1]), Gateway())
            assert set(found.addresses) - {"dhcp"} == {str(IPv4Interface("/".join(pair))) for pair in addresses}, name
            assert set(found.shared_addresses) == shared, name


@captures("cisco_ios")
def test_ios_dhcp_pools(device):
    """A pool gives out its network's hosts but what is excluded; netaddr counts them."""
    text, wanted = text_of(device.paths[0]), {}
    holes = re.findall(r"(?m)^ip dhcp excluded-address ([\d.]+)(?: ([\d.]+))? *$", text)
    excluded = netaddr.IPSet([netaddr.IPRange(first, end or first) for first, end in holes])
    for body in re.findall(r"(?m)^ip dhcp pool .*\n((?:[ !].*\n|\n)*)", text):
        if match := re.search(r"(?m)^ +network ([\d.]+) +(\S+)", body):
            net = IPv4Network(f"{match[1]}/{match[2].lstrip('/')}")
            hosts = netaddr.IPSet([netaddr.IPRange(str(net[1]), str(net[-2]))])
            wanted[str(net)] = hosts - excluded
    found = {prefix: addresses_in(",".join(scope.pools)) for prefix, scope in device.read().state.dhcp.items()}
    assert found == wanted


def uci_of(device):
    """Return type, name and values of each section; values are lists, for options may stand several times."""
    sections: list[tuple[str, str, dict[str, list[str]]]] = []
    for path in device.paths:
        for line in text_of(path).split("\n"):
            match shlex.split(line, comments=True):
                case ["config", kind, *name]:
                    sections.append((kind, "".join(name), defaultdict(list)))
                case ["option", key, value] if sections:
                    sections[-1][2][key] = [value]
                case ["list", key, value] if sections:
                    sections[-1][2][key].append(value)
    return sections


def one(options, key, default=""):
    return options[key][-1] if options[key] else default


ENCRYPTION = {
    "none": "open", "": "open", "psk": "wpa-personal", "psk2": "wpa2-personal", "psk-mixed": "wpa-wpa2-personal",
    "sae": "wpa3-personal", "sae-mixed": "wpa2-wpa3-personal", "wpa2": "wpa2-enterprise", "owe": "enhanced-open",
}  # fmt: skip
"""OpenWrt's documentation of wifi-iface.encryption, from memory; a cipher may follow behind a plus sign."""


@captures("openwrt")
def test_uci_wifi(device):
    sections = uci_of(device)
    silent = {name for kind, name, options in sections if kind == "wifi-device" and one(options, "disabled") == "1"}
    aired = defaultdict(list)
    for kind, _, options in sections:
        if kind == "wifi-iface" and one(options, "mode", "ap") == "ap" and options["ssid"]:
            for radio in one(options, "device").split():
                on = one(options, "disabled") != "1" and radio not in silent
                aired[one(options, "ssid")].append((on, ENCRYPTION[one(options, "encryption").partition("+")[0]]))
    found = device.read().state.ssids
    assert sorted(found) == sorted(aired)
    for ssid, radios in aired.items():
        assert values(found[ssid].enabled) == {on for on, _ in radios}, ssid
        assert values(found[ssid].security) == {how for on, how in radios if on} or {how for _, how in radios}, ssid


@captures("openwrt")
def test_uci_dhcp(device):
    """Start and limit count off addresses from the network's own, 100 and 150 where they are left out."""
    sections = uci_of(device)
    networks = {name: options for kind, name, options in sections if kind == "interface"}
    wanted = {}
    for kind, _, options in sections:
        network = networks.get(one(options, "interface"), defaultdict(list))
        address = (network["ipaddr"] or [""])[0].split()
        off = one(options, "ignore") == "1" or one(options, "dhcpv4") == "disabled" or one(network, "disabled") == "1"
        if kind == "dhcp" and address and not off and one(network, "proto") == "static":
            own = IPv4Interface(address[0] if "/" in address[0] else f"{address[0]}/{one(network, 'netmask', '32')}")
            first = own.network[0] + int(one(options, "start", 100))
            end = min(first + int(one(options, "limit", 150)) - 1, own.network[-2])
            wanted[str(own.network)] = (f"{first}-{end}",)
    assert {prefix: scope.pools for prefix, scope in device.read().state.dhcp.items()} == wanted


@captures("openwrt")
def test_uci_bridge_vlans(device):
    tagged: dict[str, set[int]] = defaultdict(set)
    untagged: dict[str, set[int]] = defaultdict(set)
    for kind, _, options in uci_of(device):
        for word in " ".join(options["ports"]).split() if kind == "bridge-vlan" else ():
            port, _, how = word.partition(":")
            (tagged if "t" in how else untagged)[port].add(int(one(options, "vlan")))
    ports = device.read().state.ports
    for name in tagged.keys() | untagged.keys():
        if name in ports:
            assert {ports[name].untagged} - {None} == untagged[name], name
            assert tagged[name] <= set(ports[name].tagged) <= tagged[name] | untagged[name], name


WORD = re.compile(r'([\w.-]+)=("(?:[^"\\]|\\.)*"|\S*)')


def export_of(device):
    """Return by path the values of each statement of an export."""
    path, found = "", defaultdict(list)
    for line in re.sub(r"\\\n +", "", text_of(device.paths[0])).split("\n"):
        head = re.match(r"(/[a-z][\w /-]*?)?(?: ?\b(?:add|set)\b(.*))?$", line.strip())
        path = head[1].strip() if head and head[1] else path
        if head and head[2]:
            found[path].append({key: value.strip('"') for key, value in WORD.findall(head[2])})
    return found


@captures("mikrotik_routeros")
def test_export_bridge_vlans(device):
    """With VLAN filtering a port is in its pvid's VLAN untagged (1 by default) and tagged where the table has it."""
    statements = export_of(device)
    filtering = {s["name"] for s in statements["/interface bridge"] if s.get("vlan-filtering") == "yes"}
    tagged = defaultdict(set)
    for s in statements["/interface bridge vlan"]:
        for port in s.get("tagged", "").split(",") if s.get("disabled") != "yes" else ():
            tagged[port].update(vlanconfig_to_list(s["vlan-ids"]))
    ports = device.read().state.ports
    for s in statements["/interface bridge port"]:
        name = s["interface"]
        if s.get("bridge") in filtering and name in ports and s.get("disabled") != "yes":
            untagged = None if s.get("frame-types") == "admit-only-vlan-tagged" else int(s.get("pvid", 1))
            assert (name, ports[name].untagged) == (name, untagged)
            assert set(ports[name].tagged) >= tagged[name] - {untagged}, name


@captures("mikrotik_routeros")
def test_export_dhcp(device):
    statements = export_of(device)
    old = re.search(r"by RouterOS [3-6]\.", text_of(device.paths[0]))
    addresses = {
        s["interface"]: str(IPv4Interface(s["address"]).network)
        for s in reversed(statements["/ip address"]) if s.get("disabled") != "yes"
    }  # fmt: skip
    pools = {s["name"]: s["ranges"] for s in statements["/ip pool"]}
    wanted = {
        addresses[s["interface"]]: pools[s["address-pool"]]
        for s in statements["/ip dhcp-server"]
        if s.get("disabled", "yes" if old else "no") == "no"
        and s.get("interface") in addresses and s.get("address-pool") in pools
    }  # fmt: skip
    found = {prefix: addresses_in(",".join(scope.pools)) for prefix, scope in device.read().state.dhcp.items()}
    assert found == {prefix: addresses_in(ranges) for prefix, ranges in wanted.items()}
