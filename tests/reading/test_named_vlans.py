"""VLANs that ports are members of by name, ranges of ports, units of ports, and relays listed apart from interfaces."""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.reading.source import CaptureFile, Disposition

VLANS = "set vlans staff vlan-id 10\nset vlans guest vlan-id 20\n"
SWITCHING = "set interfaces ge-0/0/1 unit 0 family ethernet-switching"


def reading(text):
    return read("juniper_junos", [CaptureFile("sw1.cfg", text.encode())])


def port(text, name="ge-0/0/1"):
    return reading(text).state.ports[name]


@pytest.mark.parametrize(
    ("members", "untagged", "tagged"),
    [
        (["staff"], 10, ""),
        (["20"], 20, ""),
        ([], 1, ""),
        (["staff", "guest"], 10, "20"),
        (["nowhere"], None, ""),
    ],
)
def test_an_access_port_is_in_the_vlan_it_is_a_member_of(members, untagged, tagged):
    lines = "".join(f"{SWITCHING} vlan members {name}\n" for name in members)
    found = port(f"{VLANS}{SWITCHING}\n{lines}")
    assert (found.mode, found.untagged, str(found.tagged)) == ("access", untagged, tagged)


@pytest.mark.parametrize(
    ("members", "tagged"), [(["staff", "30-32"], "10,30-32"), (["all"], "1-4094"), ([], ""), (["guest", "x"], "20")]
)
def test_a_trunk_carries_what_it_is_a_member_of(members, tagged):
    lines = "".join(f"{SWITCHING} vlan members {name}\n" for name in members)
    found = port(f"{VLANS}{SWITCHING} interface-mode trunk\n{lines}")
    assert (found.mode, found.untagged, str(found.tagged)) == ("trunk", None, tagged)


def test_the_vlan_of_ports_that_are_put_into_none_may_have_another_number():
    assert port(f"set vlans default vlan-id 77\n{SWITCHING}\n").untagged == 77


def test_a_name_that_no_vlan_has_is_not_understood():
    found = reading(f"{VLANS}{SWITCHING} vlan members staf\nset switch-options voip interface ge-0/0/1.0 vlan fones\n")
    assert list(found.lines[0].numbered(Disposition.NOT_UNDERSTOOD)) == [3, 4]
    assert not found.complete


def test_a_line_of_a_range_holds_for_its_ports_and_their_own_lines_win():
    text = (
        "set interfaces ge-0/0/2 description own\nset interfaces ge-0/0/2 enable\n"
        "set interfaces interface-range R member-range ge-0/0/1 to ge-0/0/3\n"
        "set interfaces interface-range R description shared\nset interfaces interface-range R disable\n"
    )
    ports = reading(text).state.ports
    assert {name: (p.enabled, p.description) for name, p in ports.items()} == {
        "ge-0/0/1": (False, "shared"),
        "ge-0/0/2": (True, "own"),
        "ge-0/0/3": (False, "shared"),
    }


@pytest.mark.parametrize("members", ["ge-0/0/3 to ge-0/0/1", "ge-0/0/0 to ge-1/0/3", "ge-0/0/[1-x]"])
def test_ports_that_cannot_be_told_are_not_understood(members):
    found = reading(f"set interfaces interface-range R member-range {members}\n")
    assert found.count([Disposition.NOT_UNDERSTOOD]) == 1


def test_a_unit_is_the_port_unless_it_has_a_tag():
    text = "set interfaces ge-0/0/{0} unit 0 {1}family inet address 10.0.{0}.1/24\n"
    tagged = "set interfaces ge-0/0/2 unit 0 vlan-id 9\n"
    state = reading(text.format(1, "") + text.format(2, "") + tagged).state
    assert list(state.uplinks) == ["ge-0/0/1"]
    assert list(state.gateways) == [9]
    assert (state.ports["ge-0/0/1"].mode, state.ports["ge-0/0/2"].mode) == ("routed", "trunk")


def test_a_vlan_says_which_interface_is_its_gateway():
    gateway = "set interfaces irb unit 5 family inet address 10.0.0.1/24\n"
    assert list(reading(f"{VLANS}{gateway}set vlans staff l3-interface irb.5\n").state.gateways) == [10]
    assert reading(f"{VLANS}{gateway}").state.gateways == {}


RELAY = "set forwarding-options dhcp-relay"
HELPER = "set forwarding-options helpers bootp"
GATEWAYS = "".join(
    f"set interfaces irb unit {vid} family inet address 10.0.{vid}.1/24\nset vlans v{vid} vlan-id {vid}\n"
    f"set vlans v{vid} l3-interface irb.{vid}\n"
    for vid in (10, 20)
)


@pytest.mark.parametrize(
    ("lines", "servers"),
    [
        ([f"{HELPER} server 192.0.2.1"], {10: ["192.0.2.1"], 20: ["192.0.2.1"]}),
        ([f"{HELPER} server 192.0.2.1", f"{HELPER} interface irb.10 no-listen"], {20: ["192.0.2.1"]}),
        ([f"{HELPER} server 192.0.2.1", f"{HELPER} interface irb.10"], {10: ["192.0.2.1"]}),
        ([f"{HELPER} interface irb.20 server 192.0.2.2"], {20: ["192.0.2.2"]}),
        (
            [
                f"{RELAY} server-group A 192.0.2.1",
                f"{RELAY} active-server-group A",
                f"{RELAY} group g interface irb.20",
            ],
            {20: ["192.0.2.1"]},
        ),
        ([f"{RELAY} server-group A 192.0.2.1", f"{RELAY} active-server-group A"], {}),
    ],
)
def test_relays_are_listed_apart_from_the_interfaces(lines, servers):
    gateways = reading(GATEWAYS + "\n".join(lines) + "\n").state.gateways
    assert {vid: list(gateway.relay_to) for vid, gateway in gateways.items() if gateway.relay_to} == servers


def test_a_shape_of_names_stands_for_the_ports_that_are_there():
    text = (
        "set interfaces ge-0/0/1 description own\nset interfaces xe-0/1/0 unit 0 family ethernet-switching\n"
        "set interfaces interface-range R member ge-*/*/*\nset interfaces interface-range R member ge-0/0/[3,5-6]\n"
        "set interfaces interface-range R disable\n"
    )
    found = reading(text)
    assert found.complete
    off = {name for name, port in found.state.ports.items() if not port.enabled}
    assert off == {"ge-0/0/1", "ge-0/0/3", "ge-0/0/5", "ge-0/0/6"}
