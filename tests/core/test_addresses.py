"""IPv4 addresses, prefixes and ranges, against RFC tables, the standard library, netaddr and brute force."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from itertools import pairwise

import netaddr  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core.addresses import (
    address_range,
    host_range,
    interface_address,
    interface_of,
    merge_ranges,
    network,
    range_text,
    subtract_ranges,
)

RFC_1878 = """
/1  128.0.0.0       2147483648
/2  192.0.0.0       1073741824
/3  224.0.0.0       536870912
/4  240.0.0.0       268435456
/5  248.0.0.0       134217728
/6  252.0.0.0       67108864
/7  254.0.0.0       33554432
/8  255.0.0.0       16777216
/9  255.128.0.0     8388608
/10 255.192.0.0     4194304
/11 255.224.0.0     2097152
/12 255.240.0.0     1048576
/13 255.248.0.0     524288
/14 255.252.0.0     262144
/15 255.254.0.0     131072
/16 255.255.0.0     65536
/17 255.255.128.0   32768
/18 255.255.192.0   16384
/19 255.255.224.0   8192
/20 255.255.240.0   4096
/21 255.255.248.0   2048
/22 255.255.252.0   1024
/23 255.255.254.0   512
/24 255.255.255.0   256
/25 255.255.255.128 128
/26 255.255.255.192 64
/27 255.255.255.224 32
/28 255.255.255.240 16
/29 255.255.255.248 8
/30 255.255.255.252 4
/31 255.255.255.254 2
/32 255.255.255.255 1
"""
"""RFC 1878, variable length subnet table: prefix length, mask, number of addresses. From memory."""
TABLE = [(int(length[1:]), mask, int(count)) for length, mask, count in map(str.split, RFC_1878.split("\n")[1:-1])]
POINT_TO_POINT = 31
"""RFC 3021: both addresses of a /31 are hosts; a /32 is a host route."""


@pytest.mark.parametrize(("length", "mask", "addresses"), TABLE)
def test_masks_and_host_counts_are_those_of_rfc_1878(length, mask, addresses):
    net = network(f"192.0.2.77 {mask}")
    assert net == network(f"192.0.2.77/{length}")
    assert (net.prefixlen, str(net.netmask), net.num_addresses) == (length, mask, addresses)
    first, last = host_range(net)
    usable = addresses if length >= POINT_TO_POINT else addresses - 2
    assert int(last) - int(first) + 1 == usable
    assert first in net
    assert last in net


def test_the_table_is_whole():
    assert [row[0] for row in TABLE] == list(range(1, 33))


@pytest.mark.parametrize(
    ("prefix", "first", "last"),
    [
        # RFC 3021: the two hosts of a point-to-point link
        ("192.0.2.0/31", "192.0.2.0", "192.0.2.1"),
        ("192.0.2.7/32", "192.0.2.7", "192.0.2.7"),
        # RFC 5737: the documentation prefixes
        ("192.0.2.0/24", "192.0.2.1", "192.0.2.254"),
        ("198.51.100.0/24", "198.51.100.1", "198.51.100.254"),
        ("203.0.113.0/24", "203.0.113.1", "203.0.113.254"),
        # RFC 1918: 10/8, 172.16/12 and 192.168/16, and the last address of each before its broadcast address
        ("10.0.0.0/8", "10.0.0.1", "10.255.255.254"),
        ("172.16.0.0/12", "172.16.0.1", "172.31.255.254"),
        ("192.168.0.0/16", "192.168.0.1", "192.168.255.254"),
        ("192.0.2.4/30", "192.0.2.5", "192.0.2.6"),
    ],
)
def test_host_ranges(prefix, first, last):
    assert host_range(IPv4Network(prefix)) == (IPv4Address(first), IPv4Address(last))


@pytest.mark.parametrize(
    ("prefix", "text"),
    [
        # RFC 1918, section 3, gives its blocks both ways
        ("10.0.0.0/8", "10.0.0.0-10.255.255.255"),
        ("172.16.0.0/12", "172.16.0.0-172.31.255.255"),
        ("192.168.0.0/16", "192.168.0.0-192.168.255.255"),
    ],
)
def test_the_private_blocks_of_rfc_1918_in_both_spellings(prefix, text):
    first, last = address_range(text)
    assert address_range(prefix) == (first, last)
    assert IPv4Network(prefix).is_private
    assert range_text(first, last) == text


@pytest.mark.parametrize(
    ("text", "interface"),
    [
        ("192.0.2.1/24", "192.0.2.1/24"),
        ("192.0.2.1 255.255.255.0", "192.0.2.1/24"),
        ("192.0.2.1   255.255.255.240", "192.0.2.1/28"),
        ("192.0.2.1/255.255.255.0", "192.0.2.1/24"),
        ("192.0.2.1", "192.0.2.1/32"),
    ],
)
def test_an_interface_address_in_every_spelling(text, interface):
    assert interface_address(text) == IPv4Interface(interface)


@pytest.mark.parametrize(
    "text",
    [
        "", "192.0.2", "192.0.2.256", "192.0.2.1/33", "192.0.2.1/24/8", "2001:db8::1/64", "dhcp",
        "192.0.2.1 255.0.255.0", "192.0.2.1 0.0.0.255", "192.0.2.1/",
    ],
)  # fmt: skip
def test_what_is_no_interface_address_is_refused(text):
    """``0.0.0.255`` is a wildcard (what an access list has), no network mask: RFC 950 masks begin with ones."""
    with pytest.raises(ValueError, match=r"."):
        interface_address(text)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("192.0.2.10-192.0.2.19", "192.0.2.10", "192.0.2.19"),
        ("192.0.2.10 - 192.0.2.19", "192.0.2.10", "192.0.2.19"),
        ("192.0.2.10 192.0.2.19", "192.0.2.10", "192.0.2.19"),
        (" 192.0.2.10 ", "192.0.2.10", "192.0.2.10"),
        ("192.0.2.64/26", "192.0.2.64", "192.0.2.127"),
        ("0.0.0.0-255.255.255.255", "0.0.0.0", "255.255.255.255"),
    ],
)
def test_an_address_range_in_every_spelling(text, first, last):
    assert address_range(text) == (IPv4Address(first), IPv4Address(last))


@pytest.mark.parametrize(
    "text", ["", "-", "192.0.2.9-192.0.2.1", "192.0.2.1-9", "192.0.2.1-192.0.2.2-192.0.2.3", "x-y"]
)
def test_what_is_no_address_range_is_refused(text):
    with pytest.raises(ValueError, match=r"."):
        address_range(text)


LOW = int(IPv4Address("192.0.2.0"))
SPANS = st.tuples(st.integers(0, 60), st.integers(0, 60)).map(sorted)
RANGES = st.lists(SPANS, max_size=8)


def as_ranges(spans):
    return [(IPv4Address(LOW + low), IPv4Address(LOW + high)) for low, high in spans]


def as_set(ranges):
    return {number for first, last in ranges for number in range(int(first), int(last) + 1)}


def is_normal(ranges):
    """Ascending, and a gap between any two."""
    return all(int(left[1]) + 1 < int(right[0]) for left, right in pairwise(ranges))


@given(RANGES)
def test_merged_ranges_hold_the_same_addresses(spans):
    merged = merge_ranges(as_ranges(spans))
    assert as_set(merged) == as_set(as_ranges(spans))
    assert is_normal(merged)
    reference = netaddr.IPSet([netaddr.IPRange(str(first), str(last)) for first, last in as_ranges(spans)])
    assert merged == [(IPv4Address(str(r[0])), IPv4Address(str(r[-1]))) for r in reference.iter_ipranges()]


@given(RANGES, RANGES)
def test_subtracted_ranges_are_the_difference_of_the_sets(whole, holes):
    left = subtract_ranges(as_ranges(whole), as_ranges(holes))
    assert as_set(left) == as_set(as_ranges(whole)) - as_set(as_ranges(holes))
    assert is_normal(left)
    assert all(first <= last for first, last in left)


@pytest.mark.parametrize("end", ["0.0.0.0", "255.255.255.255"])
def test_subtraction_at_the_ends_of_the_address_space(end):
    everything = [address_range("0.0.0.0/0")]
    one = [address_range(end)]
    assert sum(int(b) - int(a) + 1 for a, b in subtract_ranges(everything, one)) == 2**32 - 1
    assert subtract_ranges(one, everything) == []


@given(st.integers(0, 2**32 - 1), st.integers(0, 32))
def test_networks_are_those_of_netaddr(number, length):
    text = f"{IPv4Address(number)}/{length}"
    reference = netaddr.IPNetwork(text)
    assert str(network(text)) == str(reference.cidr)
    assert network(f"{IPv4Address(number)} {reference.netmask}") == network(text)
    assert str(interface_address(text).ip) == str(reference.ip)


def test_an_address_knows_its_family_and_one_is_audited():
    """The prefix of RFC 3849, which is for documentation."""
    assert [interface_of(text).version for text in ("192.0.2.1/24", "2001:db8::1/64")] == [4, 6]
    assert interface_of("2001:db8::1").network.prefixlen == 128
    with pytest.raises(ValueError, match="is an IPv6 address: IPv4 alone is audited"):
        interface_address("2001:db8::1/64")
