"""DHCP scopes: pools, exclusions, offsets, what clients are told, reservations, and scopes that serve nobody."""

from __future__ import annotations

from ipaddress import IPv4Address
from typing import Any

import netaddr  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reading.texts import ios, not_understood, routeros, state_of, uci

NET = "10.9.8.0/24"


def scope(reading: Any, net: str = NET) -> dict[str, Any]:
    assert not_understood(reading) == []
    found: dict[str, Any] = state_of(reading)["dhcp"][net]
    return found


def excluded(holes: list[tuple[int, int]]) -> list[str]:
    lines = [f"ip dhcp excluded-address 10.9.8.{a}" + (f" 10.9.8.{b}" if b != a else "") for a, b in holes]
    return scope(ios("\n".join([*lines, "ip dhcp pool x", " network 10.9.8.0 255.255.255.0"])))["pools"]  # type: ignore[no-any-return]


@given(st.lists(st.tuples(st.integers(0, 255), st.integers(0, 255)).map(sorted).map(tuple), max_size=8))
def test_a_pool_is_the_network_but_what_is_excluded(holes: list[tuple[int, int]]):
    # the same by sets of a general-purpose library, netaddr
    left = netaddr.IPSet(netaddr.IPRange("10.9.8.1", "10.9.8.254"))
    for first, last in holes:
        left -= netaddr.IPSet(netaddr.IPRange(f"10.9.8.{first}", f"10.9.8.{last}"))
    assert excluded(holes) == [f"{IPv4Address(r.first)}-{IPv4Address(r.last)}" for r in left.iter_ipranges()]


@pytest.mark.parametrize(
    ("lines", "pools"),
    [
        (["ip dhcp excluded-address 10.9.8.50 10.9.8.254"], ["10.9.8.1-10.9.8.49"]),
        (
            ["ip dhcp excluded-address 10.9.8.1 10.9.8.10", "ip dhcp excluded-address 10.9.8.5 10.9.8.20"],
            ["10.9.8.21-10.9.8.254"],
        ),
        (["ip dhcp excluded-address 10.9.7.200 10.9.8.10"], ["10.9.8.11-10.9.8.254"]),
        (["ip dhcp excluded-address 10.9.0.0 10.9.255.255"], []),
        (["ip dhcp excluded-address 10.10.8.1 10.10.8.99"], ["10.9.8.1-10.9.8.254"]),
    ],
)
@pytest.mark.parametrize("after", [False, True])
def test_exclusions_count_wherever_they_stand(lines: list[str], pools: list[str], after: bool):
    pool = ["ip dhcp pool x", " network 10.9.8.0 255.255.255.0"]
    assert scope(ios("\n".join([*pool, *lines] if after else [*lines, *pool])))["pools"] == pools


@pytest.mark.parametrize(
    ("lease", "seconds"),
    [
        ("", 86400),
        ("lease 7", 604800),
        ("lease 0 8", 28800),
        ("lease 0 0 30", 1800),
        ("lease 1 2 3", 93780),
        ("lease infinite", 4294967295),
    ],
)
def test_leases_of_a_pool(lease: str, seconds: int):
    # Cisco IOS IP Addressing command reference, "lease": one day by default; RFC 2131: all ones never end
    assert (
        scope(ios(f"ip dhcp pool x\n network 10.9.8.0 /24\n {lease or 'default-router 10.9.8.1'}"))["lease_seconds"]
        == seconds
    )


@pytest.mark.parametrize(
    ("option", "told"),
    [
        ("option 42 ip 10.9.8.1", {"42": "10.9.8.1"}),
        ("option 150 ip 10.9.8.7 10.9.8.8", {"150": "10.9.8.7,10.9.8.8"}),
        ('option 66 ascii "boot.example"', {"66": "boot.example"}),
        ("option 66 ascii boot.example", {"66": "boot.example"}),
        ("option 43 hex f104.0a09.0807", {"43": "f1040a090807"}),
    ],
)
def test_options_of_a_pool(option: str, told: dict[str, str]):
    assert scope(ios(f"ip dhcp pool x\n network 10.9.8.0 /24\n {option}"))["options"] == told


@pytest.mark.parametrize("body", ["hardware-address 0000.5e00.5301", "client-identifier 0100.005e.0053.01"])
def test_a_pool_of_one_host_is_a_reservation(body: str):
    text = f"ip dhcp pool h\n host 10.9.8.7 255.255.255.0\n {body}\nip dhcp pool x\n network 10.9.8.0 255.255.255.0"
    assert scope(ios(text))["reservations"] == {"10.9.8.7": "00:00:5e:00:53:01"}


def test_a_service_that_is_off_serves_nobody():
    assert state_of(ios("no service dhcp\nip dhcp pool x\n network 10.9.8.0 /24"))["dhcp"] == {}
    assert state_of(ios("ipv6 dhcp pool x\n dns-server 2001:db8::1"))["dhcp"] == {}


ROUTER = (
    "/ip address\nadd address=10.9.8.1/24 interface=lan\n/ip pool\nadd name=p ranges={ranges}\n"
    "/ip dhcp-server\nadd address-pool=p interface=lan name=d {server}\n"
    "/ip dhcp-server network\nadd address=10.9.8.0/24 {net}"
)


def router(ranges: str = "10.9.8.20-10.9.8.30", server: str = "", net: str = "gateway=10.9.8.1") -> dict[str, Any]:
    return scope(routeros(ROUTER.format(ranges=ranges, server=server, net=net)))


@pytest.mark.parametrize(
    ("ranges", "pools"),
    [
        ("10.9.8.20-10.9.8.30", ["10.9.8.20-10.9.8.30"]),
        ("10.9.8.40-10.9.8.49,10.9.8.20-10.9.8.30", ["10.9.8.20-10.9.8.30", "10.9.8.40-10.9.8.49"]),
        ("10.9.8.20-10.9.8.30,10.9.8.31-10.9.8.40", ["10.9.8.20-10.9.8.40"]),
        ("10.9.8.64/26", ["10.9.8.64-10.9.8.127"]),
        ("10.9.8.20", ["10.9.8.20-10.9.8.20"]),
    ],
)
def test_ranges_of_a_named_pool(ranges: str, pools: list[str]):
    assert router(ranges=ranges)["pools"] == pools


@pytest.mark.parametrize(
    ("server", "seconds"),
    [
        ("", 1800),
        ("lease-time=10m", 600),
        ("lease-time=1d12h", 129600),
        ("lease-time=00:05:00", 300),
        ("lease-time=1w2d03:04:05", 788645),
    ],
)
def test_lease_times(server: str, seconds: int):
    assert router(server=server)["lease_seconds"] == seconds


def test_what_clients_are_told():
    net = "dns-server=10.9.8.2,10.9.8.1 domain=x.example gateway=10.9.8.1 ntp-server=10.9.8.1 wins-server=10.9.8.4"
    told = router(net=net)
    assert (told["gateway"], told["dns"], told["domain"]) == ("10.9.8.1", ["10.9.8.1", "10.9.8.2"], "x.example")
    assert told["options"] == {"42": "10.9.8.1", "44": "10.9.8.4"}


@pytest.mark.parametrize(
    ("version", "word", "is_served"),
    [("6.49", "", False), ("6.49", "disabled=no", True), ("7.15", "", True), ("7.15", "disabled=yes", False)],
)
def test_an_unsaid_disabled_means_what_it_means_in_that_version(version: str, word: str, is_served: bool):
    text = ROUTER.format(ranges="10.9.8.20-10.9.8.30", server=word, net="gateway=10.9.8.1")
    assert bool(state_of(routeros(text, version))["dhcp"]) is is_served


def test_a_server_on_a_bridge_whose_address_stands_at_a_member():
    text = (
        "/interface bridge\nadd name=lan\n/interface bridge port\nadd bridge=lan interface=ether2\n"
        + ROUTER.format(ranges="10.9.8.20-10.9.8.30", server="", net="gateway=10.9.8.1")
    ).replace("10.9.8.1/24 interface=lan", "10.9.8.1/24 interface=ether2")
    assert scope(routeros(text))["pools"] == ["10.9.8.20-10.9.8.30"]


LAN = (
    "config interface 'lan'\n\toption device 'eth0'\n\toption proto 'static'\n\toption ipaddr '{address}'\n{lan}"
    "config dhcp 'lan'\n\toption interface 'lan'\n{dhcp}"
)


def served(dhcp: str, address: str = "10.9.8.1/24", lan: str = "", more: str = "") -> dict[str, Any]:
    reading = uci(LAN.format(address=address, lan=lan, dhcp=dhcp) + more)
    assert not_understood(reading) == []
    found: dict[str, Any] = state_of(reading)["dhcp"]
    return found


@pytest.mark.parametrize(
    ("dhcp", "address", "pools"),
    [
        ("\toption start '100'\n\toption limit '150'\n", "10.9.8.1/24", ["10.9.8.100-10.9.8.249"]),
        ("\toption start '2'\n", "10.9.8.1/24", ["10.9.8.2-10.9.8.151"]),
        ("", "10.9.8.1/24", ["10.9.8.100-10.9.8.249"]),
        ("\toption start '200'\n\toption limit '150'\n", "10.9.8.1/24", ["10.9.8.200-10.9.8.254"]),
        ("\toption start '300'\n\toption limit '10'\n", "10.9.8.1/22", ["10.9.9.44-10.9.9.53"]),
        ("\toption start '10.9.8.20'\n\toption end '10.9.8.60'\n", "10.9.8.1/24", ["10.9.8.20-10.9.8.60"]),
    ],
)
def test_start_and_limit_are_offsets(dhcp: str, address: str, pools: list[str]):
    assert [found["pools"] for found in served(dhcp, address).values()] == [pools]


@pytest.mark.parametrize(
    ("dhcp", "lan"),
    [
        ("\toption ignore '1'\n", ""),
        ("\toption dhcpv4 'disabled'\n", ""),
        ("", "\toption disabled '1'\n"),
    ],
)
def test_a_scope_that_is_off_is_not_there(dhcp: str, lan: str):
    assert served(dhcp, lan=lan) == {}


def test_a_scope_that_starts_outside_its_network_gives_out_nothing_and_is_not_understood():
    reading = uci(LAN.format(address="10.9.8.1/24", lan="", dhcp="\toption start '300'\n\toption limit '5'\n"))
    assert state_of(reading)["dhcp"][NET]["pools"] == []
    assert [line.strip() for line in not_understood(reading)] == ["option start '300'"]


@pytest.mark.parametrize(
    ("options", "field", "value"),
    [
        ("\tlist dhcp_option '3,10.9.8.254'\n", "gateway", "10.9.8.254"),
        ("\tlist dhcp_option '6,10.9.8.3,10.9.8.2'\n", "dns", ["10.9.8.2", "10.9.8.3"]),
        ("\tlist dhcp_option '15,own.example'\n", "domain", "own.example"),
        ("\tlist dhcp_option '66,boot'\n", "options", {"66": "boot"}),
        ("\tlist dhcp_option_force '6,10.9.8.9'\n", "dns", ["10.9.8.9"]),
        ("", "gateway", "10.9.8.1"),
        ("", "dns", ["10.9.8.1"]),
        ("", "domain", "all.example"),
    ],
)
def test_what_a_scope_says_itself_wins_over_what_all_say(options: str, field: str, value: Any):
    found = served(options, more="config dnsmasq\n\toption domain 'all.example'")
    assert found[NET][field] == value
