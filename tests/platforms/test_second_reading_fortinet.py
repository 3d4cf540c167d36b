"""FortiOS captures read a second time by a few lines of the tests' own; both readings must say the same.

A stack of blocks is kept by counting words; what a quoted value holds on further lines is dropped beforehand.
"""

from __future__ import annotations

import re
import shlex
from collections import defaultdict
from ipaddress import IPv4Interface

import pytest

from auditor.core.domains import numbers
from tests.conftest import CORPUS, FIXTURES
from tests.platforms.corpus import Device, devices_in

CONFORMING = sorted((FIXTURES / "drifts" / "fortinet" / "conforming").iterdir())
DEVICES = [*devices_in(CORPUS, "fortinet"), *(Device("fortinet", path.name, (path,)) for path in CONFORMING)]
each_capture = pytest.mark.parametrize("device", DEVICES, ids=lambda device: device.name)

_LONG_VALUE = re.compile(r'(?m)^(\s*set \S+ )"(?:[^"\\]|\\.)*\n(?:[^"\\]|\\.)*"[ \t]*$')


def tables_of(device):
    """Return by table (``system interface``) and entry the words behind ``set``, those of inner tables left out."""
    text = device.paths[0].read_text(encoding="utf-8", errors="replace").replace("\r", "")
    found: dict[str, dict[str, list[list[str]]]] = defaultdict(lambda: defaultdict(list))
    stack: list[tuple[str, str]] = []
    for line in _LONG_VALUE.sub(r"\1long", text).split("\n"):
        try:
            verb, *words = shlex.split(line, comments=False) or [""]
        except ValueError:
            verb, *words = line.replace('"', "").split() or [""]
        tables = [word for kind, word in stack if kind == "config" and word not in ("global", "vdom")]
        if verb == "config" and words:
            if stack and stack[-1][0] == "config" and tables and words[0] == tables[-1].split()[0]:
                stack.pop()
            stack.append(("config", " ".join(words)))
        elif verb == "edit" and stack and words:
            stack.append(("edit", words[0]))
            if len(tables) == 1:
                found[tables[0]][words[0]] += []
        elif verb == "next" and any(kind == "edit" for kind, _ in stack):
            while stack.pop()[0] != "edit":
                pass
        elif verb == "end" and stack:
            while stack.pop()[0] == "edit":
                pass
        elif verb == "set" and len(tables) == 1:
            found[tables[0]][stack[-1][1] if stack[-1][0] == "edit" else ""].append(words)
    return found


def last(settings, key, default=None):
    values = [words[1:] for words in settings if words[0] == key]
    return values[-1] if values else default


@each_capture
def test_vlans_and_who_carries_them(device):
    interfaces = tables_of(device)["system interface"]
    state = device.read().state
    tags = {name: int(tag[0]) for name, s in interfaces.items() if (tag := last(s, "vlanid"))}
    switches = {int(vlan[0]) for s in tables_of(device)["system virtual-switch"].values() if (vlan := last(s, "vlan"))}
    assert set(numbers(state.vlans)) == {*tags.values()} | switches
    carried = defaultdict(set)
    for name, tag in tags.items():
        if last(interfaces[name], "status") != ["down"]:
            carried[last(interfaces[name], "interface")[0]].add(tag)
    for name, vids in carried.items():
        assert (name, state.ports[name].mode, set(state.ports[name].tagged)) == (name, "trunk", vids)
    assert [n for n, p in state.ports.items() if p.tagged and n not in carried] == []


@each_capture
def test_ports_are_on_or_off(device):
    interfaces, state = tables_of(device)["system interface"], device.read().state
    members = {port for s in interfaces.values() for port in last(s, "member", [])}
    physical = {name for name, s in interfaces.items() if last(s, "type") == ["physical"] and name not in members}
    assert physical <= set(state.ports)
    for name in physical:
        assert (name, state.ports[name].enabled) == (name, last(interfaces[name], "status") != ["down"])
        text = last(interfaces[name], "description") or last(interfaces[name], "alias")
        assert (name, state.ports[name].description) == (name, (text[0] or None) if text else None)


def further_addresses(device, name):
    """Return the addresses of the table inside of an interface's own."""
    text = device.paths[0].read_text(encoding="utf-8", errors="replace")
    table = re.search(rf'(?ms)^ *edit "{name}"$.*?^( *)config secondaryip$(.*?)^\1end$', text)
    assert table
    return [str(IPv4Interface(f"{ip}/{mask}")) for ip, mask in re.findall(r"set ip (\S+) (\S+)", table[2])]


@each_capture
def test_addresses(device):
    interfaces, state = tables_of(device)["system interface"], device.read().state
    for name, settings in interfaces.items():
        ip = last(settings, "ip")
        tag = last(settings, "vlanid")
        if not ip or ip[0] == "0.0.0.0" or last(settings, "status") == ["down"]:
            continue
        address = str(IPv4Interface("/".join(ip)))
        if tag:
            assert address in state.gateways[int(tag[0])].addresses
        elif last(settings, "fortilink") == ["enable"]:  # it is there for the switches that the device manages
            assert name not in state.uplinks
        elif name in state.ports and last(settings, "mode", ["static"]) == ["static"]:
            further = further_addresses(device, name) if last(settings, "secondary-IP") == ["enable"] else []
            assert state.uplinks[name].address == ", ".join([address, *further])


@each_capture
def test_wifi_names(device):
    names = tables_of(device)["wireless-controller vap"]
    aired = {last(s, "ssid", ["fortinet"])[0] for s in names.values() if last(s, "mesh-backhaul") != ["enable"]}
    assert set(device.read().state.ssids) == aired


@each_capture
def test_ways_in(device):
    interfaces, whole = tables_of(device)["system interface"], tables_of(device)["system global"][""]
    up = [s for s in interfaces.values() if last(s, "status") != ["down"]]
    ways = {way for s in up for way in last(s, "allowaccess", [])} & {"ssh", "telnet", "http", "https"}
    if last(whole, "admin-telnet") == ["disable"]:
        ways.discard("telnet")
    assert set(device.read().state.management.logins) == ways
