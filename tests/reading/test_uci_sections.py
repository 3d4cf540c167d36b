"""UCI as the device puts it together, and what becomes of sections and options that nothing reads."""

from __future__ import annotations

from typing import Any

import pytest

from auditor.platforms import catalogue
from auditor.reading.source import Disposition
from tests.reading.texts import not_understood, reading_of, state_of, uci

NETWORK = """config device
	option name 'br-lan'
	option type 'bridge'
	list ports 'lan1'
	list ports 'lan2'

config bridge-vlan 'office'
	option device 'br-lan'
	option vlan '10'
	list ports 'lan1:t'
	list ports 'lan2:u*'

config interface 'office'
	option device 'br-lan.10'
	option proto 'static'
	option ipaddr '10.9.10.1/24'
"""
CHIP = """config switch
	option name 'switch0'
	option enable_vlan '1'

config switch_vlan
	option device 'switch0'
	option vlan '10'
	option ports '0t 1t 2'

config switch_vlan
	option device 'switch0'
	option vlan '20'
	option ports '0t 3'

config switch_vlan
	option device 'switch0'
	option vlan '30'
	option ports '0t 4'

config interface 'phones'
	option ifname 'eth0.30'
	option proto 'static'
	option ipaddr '10.9.30.1/24'

config interface 'office'
	option ifname 'eth0.10'
	option proto 'static'
	option ipaddr '10.9.10.1/24'

config interface 'guest'
	option ifname 'eth0.20'
	option proto 'static'
	option ipaddr '10.9.20.1/24'
"""


def network(text: str) -> dict[str, Any]:
    reading = uci(text, "network")
    assert not_understood(reading) == []
    return state_of(reading)


# libuci: uci_parse_config looks a name up in its package, uci_parse_option replaces, a list is added to
@pytest.mark.parametrize(
    ("more", "lan1", "lan2"),
    [
        ("config bridge-vlan 'office'\n\tlist ports 'lan3:t'\n", "10", "access"),
        ("config bridge-vlan 'office'\n\toption ports 'lan2:t'\n", None, "trunk"),
        ("config bridge-vlan 'office'\n\toption vlan '11'\n", "11", "access"),
    ],
)
def test_a_section_of_the_same_name_is_the_same_section(more: str, lan1: str | None, lan2: str):
    ports = network(NETWORK + more)["ports"]
    assert (ports["lan1"]["tagged"] or None, ports["lan2"]["mode"]) == (lan1, lan2)


@pytest.mark.parametrize("sign", ["\x0b", "\x0c", "\x85", "\u2028"])
def test_what_unicode_takes_for_the_end_of_a_line_is_none_where_an_option_is_said_again(sign: str):
    more = f"config interface 'office'\n\toption label 'a{sign}b'\n\toption ipaddr '10.9.10.2/24'\n"
    found = state_of(uci(NETWORK + more + more, "network"))
    assert found["gateways"]["10"]["addresses"] == ["10.9.10.2/24"]


def test_sections_of_two_packages_in_one_file_may_have_the_same_name():
    dhcp = "config dhcp 'office'\n\toption interface 'office'\n\toption start '50'\n\toption limit '10'\n"
    assert list(network(NETWORK + dhcp)["dhcp"]) == ["10.9.10.0/24"]


# netifd, bridge.c: the first untagged VLAN is the PVID unless another says "*"
def test_the_pvid_of_a_port_is_the_marked_one_and_several_untagged_vlans_are_not_understood():
    assert network(NETWORK.replace("lan2:u*", "lan2:u"))["ports"]["lan2"]["untagged"] == 10
    more = "config bridge-vlan\n\toption device 'br-lan'\n\toption vlan '20'\n\tlist ports 'lan2:u*'\n"
    reading = uci(NETWORK.replace("lan2:u*", "lan2") + more, "network")
    assert not_understood(reading) == ["list ports 'lan2'", "list ports 'lan2:u*'"]
    assert state_of(reading)["ports"]["lan2"]["untagged"] == 20


# common practice: a later switch_vlan of the same number is set on the chip after the first one
@pytest.mark.parametrize(
    ("old", "new", "gateways"),
    [
        ("", "", ["10", "20", "30"]),
        ("'0t 1t 2'", "'1t 2'", ["20", "30"]),
        ("'0t 3'", "'0 3'", ["10", "30"]),
        ("'0t 4'", "'4'", ["10", "20"]),
    ],
)
def test_a_vlan_of_a_switch_chip_reaches_the_device_by_its_own_port(old: str, new: str, gateways: list[str]):
    assert sorted(network(CHIP.replace(old, new))["gateways"]) == gateways


def test_where_it_is_open_which_port_is_the_device_the_table_is_not_understood():
    two = CHIP.replace("eth0.30", "eth1")
    assert not_understood(uci(two.replace("'0t 1t 2'", "'1t 2'"))) == ["option ports '1t 2'", "option ports '0t 3'"]


def test_a_chip_that_is_told_nothing_of_vlans_keeps_none_apart():
    said = "\toption enable_vlan '1'\n"
    assert "switch0:2" in network(CHIP)["ports"]
    assert "switch0:2" not in network(CHIP.replace(said, ""))["ports"]


def test_a_row_of_a_bridge_that_is_not_there_does_nothing():
    other = NETWORK.replace("device 'br-lan'\n\toption vlan", "device 'br-old'\n\toption vlan")
    assert (network(NETWORK)["ports"]["lan2"]["untagged"], network(other)["ports"]["lan2"]["untagged"]) == (
        10,
        "bridge br-lan",
    )


def test_what_two_bridges_claim_is_told():
    text = "config interface 'a'\n\toption type 'bridge'\n\toption ifname 'eth0.3 eth0.4'\n\n"
    reading = uci(text + text.replace("'a'", "'b'").replace("eth0.3", "eth0.5"), "network")
    found = [line.text.strip() for line in reading.bearing(Disposition.OVERRIDING) if "Two bridges" in line.why]
    assert found == ["option ifname 'eth0.3 eth0.4'", "option ifname 'eth0.5 eth0.4'"]


def test_a_chip_without_vlans_has_no_ports_in_them():
    assert (
        network(CHIP.replace("enable_vlan '1'", "enable_vlan '0'"))["ports"].keys() & {"switch0:2", "switch0:3"}
        == set()
    )


SECTIONS = [
    "interface 'x'",
    "device",
    "bridge-vlan",
    "switch",
    "switch_vlan",
    "switch_port",
    "globals 'globals'",
    "route",
    "rule",
    "wifi-iface",
    "wifi-device 'radio9'",
    "dhcp 'x'",
    "host",
    "relay",
    "dnsmasq",
    "odhcpd 'odhcpd'",
    "system",
    "timeserver 'ntp'",
    "dropbear",
    "uhttpd 'main'",
]


@pytest.mark.parametrize("section", SECTIONS)
def test_an_invented_option_is_not_understood_in_any_section(section: str):
    reading = uci(f"{NETWORK}\nconfig {section}\n\toption brightness_of_moon '7'\n", "all")
    assert not_understood(reading) == ["option brightness_of_moon '7'"]


def test_every_section_rule_is_tried_above():
    kinds = {
        pattern.partition("(")[0].rstrip("? ").rstrip("6").partition(" ")[0]
        for r in catalogue.get("openwrt").sections
        for pattern in r.opens
        if not pattern.startswith("firewall ")
    }
    assert kinds == {text.partition(" ")[0] for text in SECTIONS}


def test_an_invented_kind_of_section_and_an_invented_package_are_not_understood():
    kind = "config moonlight\n\toption phase 'full'\n"
    assert len(not_understood(uci(NETWORK + kind, "network"))) == 2
    assert len(not_understood(uci(f"package network\n{NETWORK}package moon\nconfig interface 'x'\n", "all"))) == 2
    assert not_understood(uci(f"package network\n{NETWORK}package firewall\n{kind}", "all")) == []
    shown = "network.x=interface\nnetwork.x.proto='none'\nmoon.x=interface\nmoon.x.proto='none'\n"
    assert not_understood(uci(shown, "show")) == ["moon.x=interface", "moon.x.proto='none'"]


def test_a_file_of_another_package_is_outside_whatever_its_sections_are_called():
    reading = reading_of("openwrt", "config rule\n\toption moon '1'\n", "firewall")
    assert reading.count([Disposition.NOT_UNDERSTOOD]) == 0


RADIO = "config wifi-device 'radio0'\n\toption band '2g'\n"
AIR = f"{RADIO}config wifi-iface\n\toption device 'radio0'\n\toption mode 'ap'\n\toption ssid 'Tea'\n"


@pytest.mark.parametrize(
    ("text", "line", "on"),
    [
        (AIR + "\toption dynamic_vlan '2'\n", "option dynamic_vlan '2'", ["ssids.Tea.vlan"]),
        (AIR + "\toption macfilter 'allow'\n", "option macfilter 'allow'", ["ssids.Tea.enabled"]),
        (AIR.replace("'ap'", "'mesh'"), "option mode 'mesh'", []),
        (NETWORK + "config odhcpd\n\toption maindhcp '1'\n", "option maindhcp '1'", []),
        (NETWORK.replace("'bridge'", "'vrf'"), "option type 'vrf'", ["gateways"]),
    ],
)
def test_a_line_that_can_make_settings_untrue_is_overriding_though_it_is_read(text: str, line: str, on: list[str]):
    found = [each for each in uci(text, "all").bearing(Disposition.OVERRIDING) if each.text.strip() == line]
    assert len(found) == 1
    assert {str(setting) for setting in found[0].bears_on} >= set(on)
