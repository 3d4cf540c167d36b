"""The reckoning by single frames, on a site small enough to be followed with a finger.

What a port takes and sends is IEEE 802.1Q's (from memory: clause 6.9, tags and port VLAN ids; 8.6.2, ingress
filtering; 8.8, member set). What comes of two ports that disagree is worked out by hand from that, beside each check.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.core.state import DhcpScope, Gateway, Port, Ssid, Vlan
from auditor.core.values import VlanSet
from tests.network import flood
from tests.network.flood import Frame, LeakAt, Network, Verdict, entering, leaving
from tests.network.yard import (
    DOWN,
    GUEST,
    GUEST_PORT,
    GUEST_SERVICES,
    NO_WAY,
    PLAN,
    SIDE,
    STAFF,
    STAFF_PORT,
    STAFF_SERVICES,
    SW2_ITSELF,
    UNKNOWN,
    UP,
    YARD,
    as_planned,
    flooded,
    guest_at,
    having,
    not_reached,
    port_set,
    staff_at,
    state_of,
    trunk,
    unread,
)

ACCESS = Port(untagged=10, voice=30)
TRUNK = Port(mode="trunk", untagged=10, tagged=VlanSet([20]))


@pytest.mark.parametrize(
    ("port", "tag", "vlan"),
    [
        (ACCESS, None, 10),
        (ACCESS, 30, 30),
        (ACCESS, 10, None),
        (ACCESS, 20, None),
        (TRUNK, None, 10),
        (TRUNK, 10, 10),
        (TRUNK, 20, 20),
        (TRUNK, 30, None),
        (Port(mode="trunk", tagged=VlanSet([20])), None, None),
        (Port(mode="dynamic", untagged=10), None, 10),
        (Port(mode="dynamic", untagged=10), 10, None),
        (Port(mode="routed", untagged=10), None, None),
        (TRUNK.model_copy(update={"enabled": False}), 20, None),
    ],
)
def test_what_a_port_takes(port: Port, tag: int | None, vlan: int | None):
    assert entering(port, Frame(tag)) == vlan


@pytest.mark.parametrize(
    ("port", "vlan", "frame"),
    [
        (ACCESS, 10, Frame(None)),
        (ACCESS, 30, Frame(30)),
        (ACCESS, 20, None),
        (TRUNK, 10, Frame(None)),
        (TRUNK, 20, Frame(20)),
        (TRUNK, 30, None),
        (Port(mode="dynamic", untagged=10), 10, Frame(None)),
        (Port(mode="routed", untagged=10), 10, None),
        (TRUNK.model_copy(update={"enabled": False}), 10, None),
    ],
)
def test_what_a_port_sends(port: Port, vlan: int, frame: Frame | None):
    assert leaving(port, vlan) == frame


def test_as_planned_all_is_reached_and_nothing_leaks():
    site = as_planned()
    assert set(flood.verdicts(site)) == STAFF_SERVICES | GUEST_SERVICES
    assert not_reached(site) == {}
    assert flood.leaks(site) == set()
    assert flood.separated(site) == {"staff": ("separated", frozenset()), "guest": ("separated", frozenset())}
    assert flooded(site, "gw1", STAFF) == {(name, STAFF) for name in ("gw1", "sw1", "sw2", "sw3")}


def test_a_vlan_that_is_missing_in_the_middle():
    site = having(as_planned(), "sw1", "vlans", GUEST, None)
    assert not_reached(site) == dict.fromkeys(GUEST_SERVICES, NO_WAY)
    assert flood.leaks(site) == set()


def test_vlan_1_needs_no_vlan_to_exist():
    """Untagged frames of VLAN 1 pass although neither switch lists it."""
    site = port_set(as_planned(), "sw1", DOWN, **trunk(1, 10, 20))
    site = port_set(site, "sw2", UP, **trunk(1, 10, 20))
    assert flooded(site, "sw1", 1) == {("sw1", 1), ("sw2", 1)}
    site = port_set(site, "sw2", UP, **trunk(30, 10, 20))
    assert flooded(site, "sw1", 1) == {("sw1", 1)}


def test_native_vlans_that_differ_join_two_vlans():
    """sw1 sends staff untagged, sw2 takes it into guest, and the other way round.

    Tagged frames still pass in one direction each: guest down from sw1, staff up from sw2.
    """
    site = port_set(as_planned(), "sw1", DOWN, **trunk(STAFF, GUEST))
    site = port_set(site, "sw2", UP, **trunk(GUEST, STAFF))
    assert flooded(site, "sw1", STAFF) == {("gw1", 10), ("sw1", 10), ("sw3", 10), ("sw2", 20), ("ap1", 20)}
    assert flooded(site, "sw2", STAFF) == {("sw2", 10), ("gw1", 10), ("sw1", 10), ("sw3", 10)}
    assert not_reached(site) == dict.fromkeys([staff_at("sw2"), SW2_ITSELF, guest_at("sw2"), YARD], NO_WAY)
    assert flood.leaks(site) == {
        LeakAt(STAFF, "port", "sw2", GUEST_PORT),
        LeakAt(STAFF, "device", "ap1", ""),
        LeakAt(STAFF, "wifi", "ap1", "Yard"),
        LeakAt(GUEST, "port", "sw1", STAFF_PORT),
        LeakAt(GUEST, "device", "sw3", ""),
        LeakAt(GUEST, "port", "sw3", STAFF_PORT),
    }
    assert flood.separated(site) == {
        "staff": ("shared", frozenset({"guest"})),
        "guest": ("shared", frozenset({"staff"})),
    }


def test_a_trunk_that_works_one_way():
    """sw2 takes staff's tagged frames, and sends its own untagged, which sw1 drops."""
    site = port_set(as_planned(), "sw2", UP, **trunk(STAFF, GUEST))
    network = Network(site.read, site.cables)
    assert flood.directions(site, staff_at("sw2"), network) == (False, True)
    assert not_reached(site) == dict.fromkeys([staff_at("sw2"), SW2_ITSELF], NO_WAY)
    assert flood.leaks(site) == set()


def test_a_frame_does_not_leave_by_the_port_it_came_in():
    """sw1's staff comes tagged to sw2, which would send it back untagged, into sw1's guest."""
    site = port_set(as_planned(), "sw1", DOWN, **trunk(GUEST, STAFF))
    site = port_set(site, "sw2", UP, **trunk(STAFF))
    assert ("sw1", GUEST) not in flooded(site, "sw1", STAFF)
    assert ("sw1", GUEST) in flooded(site, "sw2", STAFF)


LOOP = PLAN.replace("ports: {ether1: {", "ports: {ether3: {trunk: [guest]}, ether1: {").replace(
    "      GigabitEthernet1/0/1-2: {trunk: [staff, guest]}\n      GigabitEthernet1/0/4",
    "      GigabitEthernet1/0/3: {trunk: [guest]}\n"
    "      GigabitEthernet1/0/1-2: {trunk: [staff, guest]}\n      GigabitEthernet1/0/4",
)
LOOP += f"  - [gw1 ether3, sw2 {SIDE}]\n"


def test_a_loop_is_flooded_once_and_is_a_second_way():
    site = as_planned(LOOP)
    assert len(site.plan.data.links) == len(site.observed)
    assert not_reached(site) == {}
    site = port_set(site, "sw1", DOWN, **trunk(None))
    assert not_reached(site) == dict.fromkeys([staff_at("sw2"), SW2_ITSELF], NO_WAY)
    site = port_set(site, "sw2", SIDE, enabled=False)
    assert not_reached(site) == dict.fromkeys([staff_at("sw2"), SW2_ITSELF, guest_at("sw2"), YARD], NO_WAY)


def test_a_switch_in_the_middle_that_was_not_read():
    """It may be as planned, so what goes through it is unverified, unless something else stops it for sure."""
    site = unread(as_planned(), "sw1")
    assert not_reached(site) == dict.fromkeys(STAFF_SERVICES | GUEST_SERVICES, UNKNOWN)
    assert flood.separated(site) == {"staff": ("unverified", frozenset()), "guest": ("unverified", frozenset())}
    site = port_set(site, "sw2", UP, **trunk(None, STAFF))
    found = not_reached(site)
    assert {service for service, verdict in found.items() if verdict == NO_WAY} == {guest_at("sw2"), YARD}
    assert found[guest_at("sw1")] == UNKNOWN


def test_a_gateway_that_was_not_read():
    site = unread(as_planned(), "gw1")
    assert not_reached(site) == dict.fromkeys(STAFF_SERVICES | GUEST_SERVICES, UNKNOWN)


def test_an_unread_device_that_nothing_goes_through():
    assert not_reached(unread(as_planned(), "sw3")) == {staff_at("sw3"): UNKNOWN}


def test_unread_devices_pass_no_leak_on():
    """ap1 airs Yard in staff, which only sw2 could have brought there."""
    site = port_set(as_planned(), "sw2", DOWN, **trunk(None, STAFF, GUEST))
    site = port_set(having(site, "ap1", "vlans", STAFF, Vlan()), "ap1", "lan1", **trunk(None, STAFF, GUEST))
    site = having(site, "ap1", "ssids", "Yard", Ssid(vlan=STAFF, security="open"))
    assert flood.leaks(site) == {LeakAt(STAFF, "wifi", "ap1", "Yard"), LeakAt(STAFF, "device", "ap1", "")}
    assert not_reached(site) == {YARD: NO_WAY}
    assert flood.leaks(unread(site, "sw2")) == set()


def test_a_gateway_without_address_scope_or_relay():
    site = as_planned()
    gateway = state_of(site, "gw1").gateways[GUEST]
    no_scope = having(site, "gw1", "dhcp", "10.0.10.0/24", None)
    assert not_reached(no_scope) == dict.fromkeys(STAFF_SERVICES, Verdict("reached", "reached", "broken", "broken"))
    other_pool = having(
        site, "gw1", "dhcp", "10.0.10.0/24", DhcpScope(pools=("10.0.10.50-10.0.10.98",), gateway="10.0.10.1")
    )
    assert not_reached(other_pool) == {}
    no_relay = having(site, "gw1", "gateways", GUEST, gateway.model_copy(update={"relay_to": ()}))
    assert not_reached(no_relay) == dict.fromkeys(GUEST_SERVICES, Verdict("reached", "reached", "broken", "broken"))
    no_address = having(site, "gw1", "gateways", GUEST, gateway.model_copy(update={"addresses": ()}))
    assert not_reached(no_address) == dict.fromkeys(GUEST_SERVICES, Verdict("reached", "broken", "reached", "broken"))
    # What is known to be missing stays so where the way is unknown; the rest is unverified.
    found = not_reached(unread(no_address, "sw2"))
    assert found[YARD] == Verdict("unverified", "broken", "unverified", "broken")


def test_an_address_that_gateways_share_belongs_to_the_gateway():
    site = as_planned(PLAN.replace("{relay: [192.0.2.67]}", "none, gateway: {on: gw1, shared: 10.0.20.254}"))
    gateway = state_of(site, "gw1").gateways[GUEST]
    site = having(site, "gw1", "gateways", GUEST, gateway.model_copy(update={"shared_addresses": ()}))
    assert flood.verdicts(site)[YARD] == Verdict("reached", "broken", None, "broken")


def test_what_is_served_must_get_into_its_vlan():
    site = as_planned()
    assert not_reached(having(site, "sw2", "gateways", STAFF, None)) == {SW2_ITSELF: NO_WAY}
    other_address = Gateway(addresses=("10.0.10.4/24",))
    assert not_reached(having(site, "sw2", "gateways", STAFF, other_address)) == {SW2_ITSELF: NO_WAY}
    assert not_reached(port_set(site, "sw2", STAFF_PORT, untagged=GUEST)) == {staff_at("sw2"): NO_WAY}
    assert not_reached(port_set(site, "sw2", STAFF_PORT, enabled=False)) == {staff_at("sw2"): NO_WAY}
    assert not_reached(port_set(site, "sw2", STAFF_PORT, mode="dynamic")) == {}
    assert not_reached(port_set(site, "sw2", STAFF_PORT, mode="trunk")) == {}
    off = Ssid(vlan=GUEST, security="open", enabled=False)
    assert not_reached(having(site, "ap1", "ssids", "Yard", off)) == {YARD: NO_WAY}


def test_a_vlan_on_a_device_that_should_not_have_it():
    """It takes both ends of the link and the VLAN itself."""
    site = port_set(as_planned(), "sw1", SIDE, **trunk(None, STAFF, GUEST))
    site = port_set(site, "sw3", UP, **trunk(None, STAFF, GUEST))
    assert flood.leaks(site) == set()
    assert flood.leaks(having(site, "sw3", "vlans", GUEST, Vlan())) == {LeakAt(GUEST, "device", "sw3", "")}


def test_where_a_vlan_may_not_come_out():
    """On ports and Wi-Fi names that have another one, or that nobody has planned; not on what nobody judges."""
    site = port_set(as_planned(), "sw1", STAFF_PORT, untagged=GUEST)
    site = port_set(site, "gw1", "ether2", **trunk(None, GUEST))
    site = having(site, "sw1", "ports", "GigabitEthernet1/0/6", Port(untagged=GUEST))
    site = having(site, "sw1", "ports", "GigabitEthernet1/0/7", Port(mode="dynamic", untagged=GUEST))
    site = having(site, "sw1", "ports", "GigabitEthernet1/0/8", Port(untagged=STAFF, voice=GUEST))
    site = having(site, "sw1", "ports", "GigabitEthernet1/0/9", Port(untagged=GUEST, enabled=False))
    site = having(site, "ap1", "ssids", "Attic", Ssid(vlan=GUEST, security="open"))
    site = having(site, "ap1", "ssids", "Cellar", Ssid(vlan=GUEST, security="open", enabled=False))
    site = having(site, "ap1", "ssids", "Shed", Ssid(vlan=STAFF, security="open"))
    seventh, eighth = "GigabitEthernet1/0/7", "GigabitEthernet1/0/8"
    assert flood.leaks(site) == {
        LeakAt(GUEST, "port", "gw1", "ether2"),
        LeakAt(GUEST, "port", "sw1", STAFF_PORT),
        LeakAt(GUEST, "port", "sw1", seventh),
        LeakAt(GUEST, "port", "sw1", eighth),
        LeakAt(STAFF, "port", "sw1", eighth),
        LeakAt(GUEST, "wifi", "ap1", "Attic"),
    }
    unlisted = as_planned(PLAN.replace("unlisted_ports: disabled", "unlisted_ports: ignore"))
    assert flood.leaks(replace(unlisted, observed=site.observed)) == {
        LeakAt(GUEST, "port", "gw1", "ether2"),
        LeakAt(GUEST, "port", "sw1", STAFF_PORT),
        LeakAt(GUEST, "wifi", "ap1", "Attic"),
    }


def test_a_planned_voice_vlan_is_no_leak():
    voice = "GigabitEthernet1/0/6: {ignore: true}"
    site = as_planned(PLAN.replace(voice, "GigabitEthernet1/0/6: {access: staff, voice: guest}"))
    assert flood.leaks(site) == set()
    site = port_set(site, "sw1", "GigabitEthernet1/0/6", untagged=GUEST, voice=STAFF)
    assert flood.leaks(site) == set()


def test_a_subnet_that_nothing_routes_ends_on_its_own_device():
    site = as_planned(
        PLAN.replace("defaults: {gateway: gw1, ", "defaults: {")
        .replace("dhcp: {pool: 10.0.10.50-10.0.10.99}", "dhcp: none")
        .replace("dhcp: {relay: [192.0.2.67]}", "gateway: gw1")
    )
    bare = Verdict("reached", None, None, "reached")
    assert {flood.verdicts(site)[service] for service in STAFF_SERVICES} == {bare}
    assert {flood.verdicts(site)[service] for service in GUEST_SERVICES} == {
        Verdict("reached", "reached", None, "reached")
    }
    site = having(site, "sw2", "vlans", STAFF, None)
    assert flood.verdicts(site)[staff_at("sw2")] == Verdict("broken", None, None, "broken")
