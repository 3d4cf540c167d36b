"""VLANs that list their ports and hold their own layer-3 interface: ranges, bundles, voice, services on and off.

The dialect is AOS-S; its facts are from memory of its manuals unless the captures of the trade show them.
"""

from __future__ import annotations

import pytest

from auditor.areas import Reading
from auditor.core.state import Setting
from auditor.platforms.names import names_of
from tests.reading.texts import not_understood, reading_of, state_of

BOOK = names_of("hp_procurve")


def switch(body: str) -> Reading:
    return reading_of("hp_procurve", f'hostname "sw"\n{body}\n')


def vlan(vid: int, *lines: str) -> str:
    return "\n".join([f"vlan {vid}", *(f"   {line}" for line in lines), "   exit"])


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("24", ["24"]),
        ("2-3,5-6,8", ["2", "3", "5", "6", "8"]),
        ("B10,F21-F23,Trk3-Trk4", ["B10", "F21", "F22", "F23", "Trk3", "Trk4"]),
        ("A1-A2,7", ["A1", "A2", "7"]),
        ("A1,7-8", ["A1", "7", "8"]),
        ("1/1-1/3,2/A1", ["1/1", "1/2", "1/3", "2/A1"]),
        ("trk1", ["Trk1"]),
    ],
)
def test_each_piece_of_a_list_stands_for_itself(text: str, names: list[str]):
    assert BOOK.names(text) == names


@pytest.mark.parametrize("text", ["5-2", "A1-B4", "1,,2", "1,", "port", "", "1-99999", "vlan 10"])
def test_what_lists_no_ports_is_not_understood(text: str):
    with pytest.raises(ValueError, match=r"range|port|name|entry"):
        BOOK.names(text)
    line = f"untagged {text}".strip()
    assert not_understood(switch(vlan(10, line, "tagged 9"))) == [line]


def test_a_bundle_takes_its_ports_along():
    ports = state_of(switch("trunk 23-24 trk1 lacp\n" + vlan(10, "untagged 1-2", "tagged Trk1")))["ports"]
    assert list(ports) == ["Trk1", "1", "2"]
    assert ports["Trk1"]["tagged"] == "10"


@pytest.mark.parametrize(("off", "enabled"), [([], True), ([23], True), ([23, 24], False)])
def test_a_bundle_is_off_where_all_its_ports_are(off: list[int], enabled: bool):
    lines = "".join(f"interface {port}\n   disable\n   exit\n" for port in off)
    state = state_of(switch(f"trunk 23-24 trk1 lacp\n{lines}{vlan(10, 'tagged Trk1')}"))
    assert state["ports"]["Trk1"]["enabled"] is enabled


@pytest.mark.parametrize(
    ("untagged", "tagged", "marked", "port"),
    [
        (10, [30], [30], ("access", 10, "", 30)),
        (10, [30], [], ("trunk", 10, "30", None)),
        (10, [20], [30], ("trunk", 10, "20", None)),
        (10, [20, 30], [30], ("trunk", 10, "20,30", None)),
        (10, [20, 30], [20, 30], ("trunk", 10, "20,30", None)),
        (None, [30], [30], ("trunk", None, "30", None)),
        (30, [], [30], ("access", 30, "", None)),
    ],
)
def test_a_voice_vlan_is_the_only_tagged_one_and_marked(untagged, tagged, marked, port):
    text = "\n".join(
        vlan(
            vid,
            *(["untagged 1"] if vid == untagged else []),
            *(["tagged 1"] if vid in tagged else []),
            *(["voice"] if vid in marked else []),
        )
        for vid in (10, 20, 30)
    )
    found = state_of(switch(text))["ports"]["1"]
    assert (found["mode"], found["untagged"], found["tagged"], found["voice"]) == port


def test_a_vlan_s_own_row_makes_its_gateway_with_evidence():
    reading = switch(
        vlan(10, "ip address 10.0.10.1/24", "ip helper-address 10.0.0.5") + "\n" + vlan(20, "no ip address")
    )
    assert state_of(reading)["gateways"] == {
        "10": {"addresses": ["10.0.10.1/24"], "shared_addresses": [], "relay_to": ["10.0.0.5"]}
    }
    quoted = {name: reading.evidence_of(Setting("gateways", "10", name)) for name in ("addresses", "relay_to")}
    assert [line.line for line in quoted["addresses"]] == [3]
    assert [line.line for line in quoted["relay_to"]] == [4]


@pytest.mark.parametrize(
    ("globally", "instance", "shared"),
    [
        ("router vrrp\n   ipv4 enable\n   exit", "enable", ["10.0.10.9"]),
        ("router vrrp ipv4 enable", "enable", ["10.0.10.9"]),
        ("router vrrp\n   ipv4 enable\n   exit", "backup", []),
        ("router vrrp\n   ipv4 enable\n   exit", "no enable", []),
        ("router vrrp\n   ipv4 disable\n   exit", "enable", []),
        ("ip routing", "enable", []),
    ],
)
def test_a_shared_address_counts_where_its_instance_and_the_protocol_are_enabled(globally, instance, shared):
    lines = ["ip address 10.0.10.2/24", "vrrp vrid 1", "   virtual-ip-address 10.0.10.9", f"   {instance}", "   exit"]
    assert state_of(switch(f"{globally}\n{vlan(10, *lines)}"))["gateways"]["10"]["shared_addresses"] == shared


@pytest.mark.parametrize(("line", "relayed"), [("ip routing", True), ("dhcp-relay", True), ("no dhcp-relay", False)])
def test_nothing_is_relayed_where_the_device_does_not_relay(line: str, relayed: bool):
    state = state_of(switch(f"{line}\n{vlan(10, 'ip address 10.0.10.1/24', 'ip helper-address 10.0.0.5')}"))
    assert state["gateways"]["10"]["relay_to"] == (["10.0.0.5"] if relayed else [])


POOL = 'dhcp-server pool "p"\n   network 10.0.10.0 255.255.255.0\n   range 10.0.10.50 10.0.10.99\n   exit\n'


@pytest.mark.parametrize(
    ("lines", "interface", "served"),
    [
        ("dhcp-server enable", ["ip address 10.0.10.1/24", "dhcp-server"], True),
        ("dhcp-server enable", ["ip address 10.0.10.1/24"], False),
        ("dhcp-server enable", ["ip address 10.0.10.1/24", "no dhcp-server"], False),
        ("dhcp-server enable", ["ip address 10.0.20.1/24"], True),
        ("dhcp-server disable", ["ip address 10.0.10.1/24", "dhcp-server"], False),
        ("ip routing", ["ip address 10.0.10.1/24", "dhcp-server"], False),
    ],
)
def test_a_scope_is_served_where_the_device_and_its_interface_serve_dhcp(lines, interface, served):
    """Behind a relay, the prefix is no interface's, and any scope is served."""
    state = state_of(switch(f"{POOL}{lines}\n{vlan(10, *interface)}"))
    assert list(state["dhcp"]) == (["10.0.10.0/24"] if served else [])


def test_reservations_stand_in_any_pool():
    other = 'dhcp-server pool "q"\n   static-bind ip 10.0.10.7/24 mac 00:00:5e:00:53:07\n   exit\n'
    own = POOL.replace("   range", "   static-bind ip 10.0.10.6 255.255.255.0 mac 00005e-005306\n   range")
    state = state_of(switch(f"{other}{own}dhcp-server enable"))
    kept = {"10.0.10.6": "00:00:5e:00:53:06", "10.0.10.7": "00:00:5e:00:53:07"}
    assert state["dhcp"]["10.0.10.0/24"]["reservations"] == kept


@pytest.mark.parametrize(
    ("release", "logins"), [("Q.10.05", ["http", "telnet"]), ("WC.16.10.0003", ["http", "ssh", "telnet"])]
)
def test_what_an_absent_line_means_follows_from_the_release(release: str, logins: list[str]):
    """From memory: switches before release 15 came without SSH."""
    text = f"; J9019A Configuration Editor; Created on release #{release}\n"
    assert state_of(reading_of("hp_procurve", text + vlan(1, "untagged 1")))["management"]["logins"] == logins
