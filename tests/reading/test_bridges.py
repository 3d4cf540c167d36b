"""Bridges, VLAN tables and tagged devices: which VLANs a port carries, and which VLAN an address belongs to."""

from __future__ import annotations

from typing import Any

import pytest

from auditor.areas import Reading
from tests.reading.texts import not_understood, routeros, state_of, uci

BRIDGE = "/interface bridge\nadd name=b vlan-filtering=yes\n"
Carried = tuple[str, int | str | None, str]

ADDRESS = "/ip address add address=10.0.8.1/24 interface=v"
TAGGED_MEMBER = "/interface bridge port add bridge=b interface=v\n/interface vlan add interface=ether9 name=v vlan-id=8"


def carried(reading: Reading, port: str) -> Carried:
    assert not_understood(reading) == []
    found = state_of(reading)["ports"][port]
    return found["mode"], found["untagged"], found["tagged"]


@pytest.mark.parametrize(
    ("port", "table", "expected"),
    [
        ("pvid=7", [], ("access", 7, "")),
        ("pvid=7", ["untagged=ether1 vlan-ids=7"], ("access", 7, "")),
        ("pvid=7", ["tagged=b vlan-ids=7"], ("access", 7, "")),
        ("pvid=7", ["tagged=ether1 vlan-ids=8"], ("trunk", 7, "8")),
        ("pvid=7", ["tagged=ether1 vlan-ids=8,10-12", "tagged=b,ether1 vlan-ids=9"], ("trunk", 7, "8-12")),
        ("frame-types=admit-only-vlan-tagged", ["tagged=ether1 vlan-ids=8"], ("trunk", None, "8")),
        ("frame-types=admit-only-vlan-tagged pvid=7", ["tagged=ether1 vlan-ids=8"], ("trunk", None, "8")),
        ("frame-types=admit-only-untagged-and-priority-tagged pvid=7", [], ("access", 7, "")),
        ("", [], ("access", 1, "")),
        ("", ["tagged=ether1 vlan-ids=8"], ("trunk", 1, "8")),
        ("pvid=7", ["disabled=yes tagged=ether1 vlan-ids=8"], ("access", 7, "")),
        ("pvid=7", ['tagged="b,ether1" vlan-ids="8"'], ("trunk", 7, "8")),
    ],
)
def test_a_port_of_a_bridge_that_keeps_vlans_apart(port: str, table: list[str], expected: Carried):
    # RouterOS manual, "Bridge VLAN Filtering" and the properties pvid (1 by default) and frame-types, from memory
    lines = "".join(f"/interface bridge vlan add bridge=b {line}\n" for line in table)
    assert (
        carried(routeros(f"{BRIDGE}/interface bridge port add bridge=b interface=ether1 {port}\n{lines}"), "ether1")
        == expected
    )


def test_sent_untagged_and_taken_into_another_vlan_is_no_access_port_of_either():
    # egress follows the table, ingress the port VLAN id, which is 1 where nothing else is said
    text = f"{BRIDGE}/interface bridge port add bridge=b interface=ether1\n"
    text += "/interface bridge vlan add bridge=b untagged=ether1 vlan-ids=50"
    assert carried(routeros(text), "ether1") != ("access", 50, "")


@pytest.mark.parametrize("port", ["", "/interface bridge port add bridge=b disabled=yes interface=ether1\n"])
def test_a_port_in_the_table_that_is_not_on_the_bridge_carries_nothing(port: str):
    text = f"{BRIDGE}{port}/interface ethernet set [ find default-name=ether1 ] comment=x\n"
    text += "/interface bridge vlan add bridge=b tagged=ether1 vlan-ids=8"
    assert carried(routeros(text), "ether1") == ("routed", None, "")


@pytest.mark.parametrize(
    ("body", "gateways"),
    [
        ("/interface bridge vlan add bridge=b tagged=b,ether1 vlan-ids=8", ["8"]),
        ("/interface bridge vlan add bridge=b tagged=ether1 vlan-ids=8", []),
        ("/interface bridge vlan add bridge=b tagged=b disabled=yes vlan-ids=8", []),
        ("/interface vlan set v disabled=yes\n/interface bridge vlan add bridge=b tagged=b vlan-ids=8", []),
    ],
)
def test_a_gateway_needs_the_device_itself_in_its_vlan(body: str, gateways: list[str]):
    text = f"{BRIDGE}/interface vlan add interface=b name=v vlan-id=8\n{body}\n"
    text += "/ip address add address=10.0.0.1/24 interface=v"
    assert list(state_of(routeros(text))["gateways"]) == gateways


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("add name=b", ("access", "bridge b", "")),
        (f"add name=b\n/interface vlan add interface=b name=v vlan-id=8\n{ADDRESS}", ("trunk", "bridge b", "8")),
        (f"add name=b\n{TAGGED_MEMBER}", ("access", "bridge b", "")),
        (f"add name=b\n/interface vlan add interface=ether1 name=v vlan-id=8\n{ADDRESS}", ("trunk", "bridge b", "8")),
        ("add name=b\n/interface vlan add interface=ether1 name=v vlan-id=8", ("access", "bridge b", "")),
    ],
)
def test_a_port_of_a_plain_bridge(body: str, expected: Carried):
    assert (
        carried(routeros(f"/interface bridge port add bridge=b interface=ether1\n/interface bridge\n{body}"), "ether1")
        == expected
    )


def test_radios_that_tag_on_a_plain_bridge_make_its_ports_trunks():
    text = (
        "/interface bridge\nadd name=b\n"
        "/interface bridge port\nadd bridge=b interface=ether1\nadd bridge=b interface=wlan1\n"
        "/interface wireless\nset [ find default-name=wlan1 ] disabled=no mode=ap-bridge ssid=T "
        "vlan-id=8 vlan-mode=use-tag"
    )
    assert carried(routeros(text), "ether1") == ("trunk", "bridge b", "8")


@pytest.mark.parametrize(
    ("address", "uplinks", "gateways"),
    [
        ("interface=ether1", {"ether1": "static"}, []),
        ("interface=v", {}, ["8"]),
        ("interface=loopback", {}, []),
        ("interface=nowhere", {}, []),
        ("disabled=yes interface=ether1", {}, []),
    ],
)
def test_where_an_address_belongs(address: str, uplinks: dict[str, str], gateways: list[str]):
    text = (
        "/interface bridge add name=loopback\n/interface vlan add interface=ether2 name=v vlan-id=8\n"
        f"/interface ethernet set [ find default-name=ether1 ] comment=x\n/ip address add address=10.0.0.1/24 {address}"
    )
    state = state_of(routeros(text))
    assert {port: uplink["method"] for port, uplink in state["uplinks"].items()} == uplinks
    assert list(state["gateways"]) == gateways


DEVICES = """\
config device
	option name 'br-lan'
	option type 'bridge'
	list ports 'lan1'
	list ports 'lan2'
"""


@pytest.mark.parametrize(
    ("ports", "expected"),
    [
        (["lan1"], ("access", 8, "")),
        (["lan1:u"], ("access", 8, "")),
        (["lan1:u*"], ("access", 8, "")),
        (["lan1:*"], ("access", 8, "")),
        (["lan1:t"], ("trunk", None, "8")),
        ([], ("access", 1, "")),  # the table knows other ports only
    ],
)
def test_suffixes_of_ports(ports: list[str], expected: Carried):
    # OpenWrt user guide, "DSA mini-tutorial", from memory: t is tagged, u untagged, * the port VLAN id
    lines = "".join(f"\tlist ports '{port}'\n" for port in ports)
    reading = uci(f"{DEVICES}config bridge-vlan\n\toption device 'br-lan'\n\toption vlan '8'\n{lines}")
    assert carried(reading, "lan1") == expected


@pytest.mark.parametrize(
    ("local", "device", "gateways"),
    [
        ("", "br-lan.8", ["8"]),
        ("\toption local '1'\n", "br-lan.8", ["8"]),
        ("\toption local '0'\n", "br-lan.8", []),
        ("", "br-lan.9", []),
    ],
)
def test_an_address_on_a_bridge_is_in_a_vlan_of_its_table(local: str, device: str, gateways: list[str]):
    text = f"{DEVICES}config bridge-vlan\n\toption device 'br-lan'\n\toption vlan '8'\n\tlist ports 'lan1:t'\n{local}"
    text += f"config interface 'x'\n\toption device '{device}'\n\toption proto 'static'\n\toption ipaddr '10.0.0.1/24'"
    assert list(state_of(uci(text))["gateways"]) == gateways


@pytest.mark.parametrize(
    ("body", "vlans"),
    [
        ("\toption vlan '1'\n\toption vid '20'\n\toption ports '0t 2t'", {"20": ["switch0:0", "switch0:2"]}),
        ("\toption ports '0t 2t'\n\toption vlan '7'", {"7": ["switch0:0", "switch0:2"]}),
        ("\toption vid '20'\n\toption vlan '1'\n\toption ports '0t 2'", {"20": ["switch0:0"]}),
    ],
)
def test_the_index_of_a_switch_vlan_is_its_id_only_without_a_vid(body: str, vlans: dict[str, list[str]]):
    switch = "config switch\n\toption name 'switch0'\n\toption enable_vlan '1'\n"
    reading = uci(f"{switch}config switch_vlan\n\toption device 'switch0'\n{body}")
    state = state_of(reading)
    assert list(state["vlans"]) == list(vlans)
    for vid, ports in vlans.items():
        assert [name for name, port in state["ports"].items() if port["tagged"] == vid] == ports


def net(name: str, device: str, rest: str = "\toption proto 'static'\n\toption ipaddr '10.0.0.1/24'\n") -> str:
    return f"config interface '{name}'\n\toption device '{device}'\n{rest}"


@pytest.mark.parametrize(
    ("body", "uplinks", "gateways"),
    [
        (net("wan", "eth1"), {"eth1": "static"}, []),
        (net("wan", "eth1", "\toption proto 'dhcp'\n"), {"eth1": "dhcp"}, []),
        (net("wan", "eth1", "\toption proto 'pppoe'\n"), {"eth1": "pppoe"}, []),
        (net("lan", "eth1.8"), {}, ["8"]),
        ("config device\n\toption name 'eth1'\n" + net("lan", "eth1.8"), {}, ["8"]),
        (net("lan", "eth1.8") + net("wan", "eth1", "\toption proto 'dhcp'\n"), {"eth1": "dhcp"}, ["8"]),
        (net("wan", "eth1.7", "\toption proto 'pppoe'\n"), {"eth1": "pppoe"}, []),
        (net("wan", "eth1", "\toption proto 'dhcp'\n\toption disabled '1'\n"), {}, []),
        (net("lo", "lo"), {}, []),
        (
            net("wan", "eth1", "\toption proto 'dhcp'\n") + net("wan6", "@wan", "\toption proto 'dhcpv6'\n"),
            {"eth1": "dhcp"},
            [],
        ),
        (net("lte", "wwan0", "\toption proto 'dhcp'\n"), {}, []),
    ],
)
def test_networks_are_uplinks_or_gateways(body: str, uplinks: dict[str, str], gateways: list[str]):
    state: dict[str, Any] = state_of(uci(body))
    assert {port: uplink["method"] for port, uplink in state["uplinks"].items()} == uplinks
    assert list(state["gateways"]) == gateways


@pytest.mark.parametrize(
    ("body", "ports"),
    [
        (net("lan", "eth1.8"), {"eth1": ("trunk", None, "8")}),
        (net("lan", "eth1.8") + net("more", "eth1.9"), {"eth1": ("trunk", None, "8-9")}),
        (
            "config device\n\toption name 'br'\n\toption type 'bridge'\n\tlist ports 'eth1.8'\n\tlist ports 'eth2'\n"
            + net("lan", "br"),
            {"eth1": ("trunk", None, "8"), "eth2": ("access", "bridge br", "")},
        ),
        (
            "config interface 'lan'\n\toption type 'bridge'\n\toption ifname 'eth1.8 eth2'\n\toption proto 'none'\n",
            {"eth1": ("trunk", None, "8"), "eth2": ("access", "bridge br-lan", "")},
        ),
        (
            "config device\n\toption type '8021q'\n\toption ifname 'eth1'\n\toption vid '8'\n\toption name 'x'\n"
            + net("lan", "x"),
            {"eth1": ("trunk", None, "8")},
        ),
    ],
)
def test_a_port_that_only_its_tagged_devices_name_is_a_port(body: str, ports: dict[str, Carried]):
    reading = uci(body)
    assert {name: carried(reading, name) for name in state_of(reading)["ports"]} == ports
