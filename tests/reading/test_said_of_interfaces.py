"""What a dialect says at its interfaces that others say for the whole device, or do not say at all."""

from __future__ import annotations

import pytest

from tests.reading.texts import not_understood, reading_of, state_of


def fortios(interfaces: str, rest: str = ""):
    reading = reading_of("fortinet", f"config system interface\n{interfaces}end\n{rest}config router multicast\nend\n")
    assert not reading.problem
    assert not_understood(reading) == []
    return state_of(reading)


def port(name: str, *statements: str) -> str:
    return f'edit "{name}"\n' + "".join(f"set {statement}\n" for statement in statements) + "next\n"


LAN = port("port1", "type physical")


@pytest.mark.parametrize(
    ("interfaces", "logins"),
    [
        (port("port1", "allowaccess ping ssh") + port("port2", "allowaccess https snmp"), ["https", "ssh"]),
        (port("port1", "allowaccess ssh", "status down") + port("port2", "allowaccess ping"), []),
        (port("port1", "status down") + port("a", "allowaccess ssh", "interface port1", "vlanid 3"), []),
        (port("port1", "type physical"), []),
    ],
)
def test_the_ways_in_are_those_of_all_interfaces_that_are_up(interfaces, logins):
    assert fortios(interfaces)["management"]["logins"] == logins


@pytest.mark.parametrize(("way", "answers"), [("snmp", True), ("ping", False)])
def test_snmp_is_answered_where_an_interface_lets_it_in(way, answers):
    snmp = 'config system snmp sysinfo\nset status enable\nend\nconfig system snmp user\nedit "reader"\nnext\nend\n'
    assert fortios(port("port1", f"allowaccess {way}"), snmp)["management"]["snmp"] is answers


@pytest.mark.parametrize(
    ("statements", "description"),
    [
        (["alias desk"], "desk"),
        (["description hall", "alias desk"], "hall"),
        (["alias desk", "description hall"], "hall"),
        ([], None),
    ],
)
def test_a_label_is_the_description_where_there_is_no_other(statements, description):
    assert fortios(port("port1", *statements))["ports"]["port1"]["description"] == description


@pytest.mark.parametrize(
    ("statements", "servers"),
    [
        (["dhcp-relay-ip 192.0.2.1"], []),
        (["dhcp-relay-ip 192.0.2.1", "dhcp-relay-service disable"], []),
        (["dhcp-relay-ip 192.0.2.1", "dhcp-relay-service enable"], ["192.0.2.1"]),
    ],
)
def test_a_relay_counts_where_it_is_in_use(statements, servers):
    vlan = port("a", "interface port1", "vlanid 3", "ip 10.0.3.1 255.255.255.0", *statements)
    assert fortios(LAN + vlan)["gateways"]["3"]["relay_to"] == servers


def test_a_port_of_a_switch_carries_the_vlans_that_are_laid_on_it():
    switch = port("sw", "type hard-switch")
    switch += port("a", "interface sw", "vlanid 3", "ip 10.0.3.1 255.255.255.0")
    switch += port("b", "interface sw", "vlanid 4", "ip 10.0.4.1 255.255.255.0")
    members = 'config system virtual-switch\nedit "sw"\nconfig port\nedit "port1"\nnext\nend\nnext\nend\n'
    found = fortios(switch, members)["ports"]["port1"]
    assert (found["mode"], found["untagged"], found["tagged"]) == ("trunk", "bridge sw", "3-4")


@pytest.mark.parametrize(
    ("statements", "prefix", "dns"),
    [
        (["netmask 255.255.255.0"], "10.0.3.0/24", None),
        (["netmask 255.255.255.0", "dns-service local"], "10.0.3.0/24", ["10.0.3.1"]),
        (["netmask 255.255.255.0", "dns-service default"], "10.0.3.0/24", ["192.0.2.53"]),
        (["netmask 255.255.255.0", "dns-server1 192.0.2.1", "dns-service specify"], "10.0.3.0/24", ["192.0.2.1"]),
        (["netmask 255.255.254.0"], "10.0.2.0/23", None),
    ],
)
def test_a_scope_on_an_interface_says_whose_servers_and_which_mask(statements, prefix, dns):
    vlan = port("a", "interface port1", "vlanid 3", "ip 10.0.3.1 255.255.255.0")
    scope = port("1", "interface a", *statements).replace('"1"', "1")
    rest = f"config system dns\nset primary 192.0.2.53\nend\nconfig system dhcp server\n{scope}end\n"
    assert {key: found["dns"] for key, found in fortios(LAN + vlan, rest)["dhcp"].items()} == {prefix: dns}


def test_a_wifi_name_is_off_where_its_interface_is():
    rest = "config wireless-controller vap\nedit air\nset ssid Air\nnext\nend\n"
    rest += 'config wireless-controller wtp\nedit "ap"\nset admin enable\nset wtp-profile "hall"\nnext\nend\n'
    assert fortios(port("air", "type vap-switch", "status down"), rest)["ssids"]["Air"]["enabled"] is False
    assert fortios(port("air", "type vap-switch"), rest)["ssids"]["Air"]["enabled"] is True
