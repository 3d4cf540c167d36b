"""Values that cannot be: no VLAN, no address, no range. The line is not understood, and the rest is read."""

from __future__ import annotations

import pytest

from auditor.areas import Reading
from auditor.core.domains import numbers
from tests.reading.texts import IOS, ROUTEROS, UCI, not_understood, reading_of

AFTER = {
    IOS: "interface GigabitEthernet9/9\n shutdown\nend\n",
    ROUTEROS: "/interface ethernet\nset [ find default-name=ether9 ] disabled=yes\n",
    UCI: "config device\n\toption name 'br9'\n\toption type 'bridge'\n\tlist ports 'lan9'\n",
}
SEEN = {IOS: "GigabitEthernet9/9", ROUTEROS: "ether9", UCI: "lan9"}

PORT = "interface GigabitEthernet0/1\n switchport mode trunk\n "
POOL = "ip dhcp pool x\n network 10.0.0.0 255.255.255.0\n "
BRIDGE = "/interface bridge\nadd name=b vlan-filtering=yes\n"
STATIC = "\toption proto 'static'\n\toption ipaddr '10.0.0.1/24'\n"
LAN = "config interface 'lan'\n\toption device 'eth0'\n\toption proto 'static'\n\toption ipaddr '10.0.0.1/24'\n"

LINES = [
    (IOS, PORT, "switchport trunk allowed vlan 5000"),
    (IOS, PORT, "switchport trunk allowed vlan 0"),
    (IOS, PORT, "switchport trunk allowed vlan 20-10"),
    (IOS, PORT, "switchport trunk allowed vlan WORD"),
    (IOS, PORT, "switchport trunk allowed vlan add"),
    (IOS, PORT, "switchport trunk allowed vlan add 4095"),
    (IOS, PORT, "switchport trunk native vlan 4095"),
    (IOS, PORT, "switchport trunk native vlan 0"),
    (IOS, "interface GigabitEthernet0/1\n switchport mode access\n ", "switchport access vlan 4095"),
    (IOS, "interface GigabitEthernet0/1\n switchport mode access\n ", "switchport access vlan 0"),
    (IOS, "interface GigabitEthernet0/1\n switchport mode access\n ", "switchport voice vlan 5000"),
    (IOS, "interface GigabitEthernet0/1.5\n ", "encapsulation dot1Q 5000"),
    (IOS, "interface GigabitEthernet0/1.5\n ", "encapsulation dot1Q 0"),
    (IOS, "interface Vlan10\n ", "ip address 300.0.0.1 255.255.255.0"),
    (IOS, "interface Vlan10\n ", "ip address 10.0.0.1 255.0.255.0"),
    (IOS, "interface Vlan10\n ", "ip helper-address 999.0.0.1"),
    (IOS, "interface Vlan10\n ", "standby 1 ip 10.0.0.256"),
    (IOS, "", "vlan 4095"),
    (IOS, "", "vlan 20-10"),
    (IOS, "", "ip dhcp excluded-address 10.0.0.300"),
    (IOS, "", "ip dhcp excluded-address 10.0.0.9 10.0.0.1"),
    (IOS, "", "ip name-server 999.0.0.1"),
    (IOS, "ip dhcp pool x\n ", "network 10.37.844.0 255.255.255.0"),
    (IOS, "ip dhcp pool x\n ", "network 10.0.0.0 255.0.255.0"),
    (IOS, "ip dhcp pool x\n ", "network 10.0.0.0 /33"),
    (IOS, POOL, "default-router 10.0.0.300"),
    (IOS, POOL, "dns-server 10.0.0.1 10.0.0.300"),
    (IOS, POOL, "hardware-address 0000.5e00"),
    (IOS, POOL, "host 10.0.0.300 255.255.255.0"),
    (IOS, "dot11 ssid Tea\n ", "vlan 5000"),
    (IOS, "dot11 ssid Tea\n ", "vlan 0"),
    (ROUTEROS, "", "/interface vlan add interface=ether1 name=v vlan-id=4095"),
    (ROUTEROS, "", "/interface vlan add interface=ether1 name=v vlan-id=0"),
    (ROUTEROS, BRIDGE, "/interface bridge port add bridge=b interface=ether1 pvid=5000"),
    (ROUTEROS, BRIDGE, "/interface bridge port add bridge=b interface=ether1 pvid=0"),
    (ROUTEROS, BRIDGE, "/interface bridge vlan add bridge=b tagged=ether1 vlan-ids=5000"),
    (ROUTEROS, BRIDGE, "/interface bridge vlan add bridge=b tagged=ether1 vlan-ids=20-10"),
    (ROUTEROS, "", "/ip address add address=10.0.0.1/33 interface=ether1"),
    (ROUTEROS, "", "/ip pool add name=p ranges=10.0.0.9-10.0.0.1"),
    (ROUTEROS, "", "/ip dhcp-server network add address=999.0.0.0/24 gateway=10.0.0.1"),
    (ROUTEROS, "", "/ip dhcp-server network add address=10.0.0.0/99 gateway=10.0.0.1"),
    (ROUTEROS, "", "/ip dhcp-server network add address=10.0.0.0/24 gateway=10.0.0.300"),
    (ROUTEROS, "", "/ip dhcp-server lease add address=10.0.0.300 mac-address=00:00:5E:00:53:01"),
    (ROUTEROS, "", "/ip dhcp-server add interface=b lease-time=soon name=d"),
    (ROUTEROS, "", "/interface wireless add disabled=no mode=ap-bridge name=w ssid=T vlan-id=5000 vlan-mode=use-tag"),
    (ROUTEROS, "", "/interface wifi add configuration.mode=ap .ssid=T datapath.vlan-id=9999 disabled=no name=w"),
    (UCI, "config bridge-vlan\n\toption device 'br9'\n", "\toption vlan '4095'"),
    (UCI, "config bridge-vlan\n\toption device 'br9'\n", "\toption vlan '0'"),
    (UCI, "config switch_vlan\n\toption device 'switch0'\n\toption vlan '1'\n", "\toption vid '5000'"),
    (UCI, "config device\n\toption type '8021q'\n\toption ifname 'eth0'\n\toption name 'x'\n", "\toption vid '5000'"),
    (UCI, "config interface 'lan'\n\toption device 'eth0'\n", "\toption ipaddr '10.0.0.300'"),
    (
        UCI,
        "config interface 'lan'\n\toption device 'eth0'\n\toption ipaddr '10.0.0.1'\n",
        "\toption netmask '255.0.255.0'",
    ),
    (
        UCI,
        "config interface 'lan'\n\toption device 'eth0'\n\toption ipaddr '10.0.0.1'\n",
        "\toption netmask '300.0.0.0'",
    ),
    (UCI, "config host\n\toption mac '00:00:5e:00:53:01'\n", "\toption ip '10.0.0.300'"),
    (UCI, f"{LAN}config dhcp 'lan'\n\toption interface 'lan'\n", "\toption leasetime 'soon'"),
    (UCI, f"{LAN}config dhcp 'lan'\n\toption interface 'lan'\n", "\toption start '99999999999'"),
]


def check(reading: Reading, line: str) -> None:
    """The one line is not understood, what comes behind it is read, and no such VLAN is in the state."""
    assert not_understood(reading) == [line.strip()]
    assert SEEN[reading.platform] in reading.state.ports
    assert all(1 <= vid <= 4094 for vid in numbers((*reading.state.vlans, *reading.state.gateways)))
    for port in reading.state.ports.values():
        assert all(1 <= vid <= 4094 for vid in (*port.tagged, *numbers([port.untagged])))


@pytest.mark.parametrize(("platform", "before", "line"), LINES, ids=[f"{p}-{line.strip()}" for p, _, line in LINES])
def test_an_impossible_value_is_not_understood_and_nothing_else_suffers(platform: str, before: str, line: str):
    # IEEE 802.1Q: VLAN ids run from 1 to 4094; RFC 791: an octet is at most 255
    check(reading_of(platform, f"{before}{line}\n{AFTER[platform]}", "network"), line)


@pytest.mark.parametrize(
    ("platform", "text"),
    [
        (IOS, "interface Vlan0\n ip address 10.0.0.1 255.255.255.0\n"),
        (IOS, "interface Vlan4095\n ip address 10.0.0.1 255.255.255.0\n"),
        (UCI, f"config interface 'lan'\n\toption device 'eth0.4095'\n{STATIC}"),
        (UCI, f"config interface 'lan'\n\toption device 'eth0.0'\n{STATIC}"),
    ],
)
def test_a_name_with_an_impossible_number_makes_no_vlan(platform: str, text: str):
    reading = reading_of(platform, f"{text}{AFTER[platform]}", "network")
    assert all(1 <= vid <= 4094 for vid in numbers((*reading.state.vlans, *reading.state.gateways)))


@pytest.mark.parametrize(
    ("platform", "text"),
    [
        (ROUTEROS, '/interface vlan\nadd name=x [ "b\nc" ]\n'),
        (
            ROUTEROS,
            "/interface vlan\nadd interface=v name=v vlan-id=5\n/ip address add address=10.0.0.1/24 interface=v\n",
        ),
        (ROUTEROS, "/interface vlan\nadd interface=w name=v vlan-id=5\nadd interface=v name=w vlan-id=6\n"),
        (ROUTEROS, "/interface vrrp\nadd interface=r name=r\n/ip address add address=10.0.0.1/24 interface=r\n"),
        (ROUTEROS, "/interface bridge\nadd name=b\n/interface bridge port add bridge=b interface=b\n"),
        (ROUTEROS, "/interface wifi configuration\nadd name=c configuration=c security=c datapath=c ssid=S\n"),
        (UCI, f"config interface 'a'\n\toption device '@b'\nconfig interface 'b'\n\toption device '@a'\n{STATIC}"),
        (UCI, f"config interface 'a'\n\toption device '@a'\n{STATIC}"),
        (UCI, "config device\n\toption name 'br'\n\toption type 'bridge'\n\tlist ports 'br'\n"),
        (IOS, "interface GigabitEthernet0/1.5.5\n encapsulation dot1Q 5\n"),
        (IOS, "interface BVI1\n bridge-group 1\n ip address 10.0.0.1 255.0.0.0\n"),
    ],
)
def test_things_that_lie_on_themselves_end_the_reading_no_less(platform: str, text: str):
    reading = reading_of(platform, text + AFTER[platform], "network")
    assert SEEN[platform] in reading.state.ports
