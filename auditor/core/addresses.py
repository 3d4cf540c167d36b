"""Addresses, prefixes and ranges, which know their family. One is audited for now, as ``interface_address`` says."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from ipaddress import (
    IPv4Address,
    IPv4Interface,
    IPv4Network,
    IPv6Interface,
    ip_interface,
)
from socket import inet_ntoa
from typing import TypeVar

InterfaceAddress = IPv4Interface | IPv6Interface
AUDITED = 4
"""The family of addresses that is audited."""

_MASKS = ("128.", "192.", "224.", "240.", "248.", "252.", "254.", "255.")
"""How a network mask begins: with ones."""


@lru_cache(maxsize=4096)
def interface_of(text: str) -> InterfaceAddress:
    """Return an address of any family with its prefix: ``10.0.0.1/24``, ``10.0.0.1 255.255.255.0``, ``2001:db8::1/64``.

    A bare address has the length of its whole family.

    Raises:
        ValueError: no address, or no network mask (a wildcard mask is none).
    """
    address, *mask = text.replace("/", " ").split()
    if text.rstrip().endswith("/"):
        raise ValueError(f"{text!r}: the prefix length is missing")
    if mask and "." in mask[0] and mask[0] != "0.0.0.0" and not mask[0].startswith(_MASKS):  # noqa: S104 - a mask
        raise ValueError(f"{mask[0]!r} is not a network mask")
    return ip_interface("/".join([address, *mask]))


@lru_cache(maxsize=4096)
def interface_address(text: str) -> IPv4Interface:
    """Return the same of the family that is audited.

    Raises:
        ValueError: no address of that family, or no network mask.
    """
    found = interface_of(text)
    if isinstance(found, IPv6Interface):  # what has another family is not AUDITED
        raise ValueError(f"{text!r} is an IPv{found.version} address: IPv{AUDITED} alone is audited")  # noqa: TRY004
    return found


@lru_cache(maxsize=4096)
def network_key(net: IPv4Network) -> str:
    """Write a network as it stands in settings: ``10.40.10.0/24``."""
    return f"{inet_ntoa(int(net.network_address).to_bytes(4))}/{net.prefixlen}"


@lru_cache(maxsize=4096)
def network(text: str) -> IPv4Network:
    """Return the IPv4 network that an address with a prefix or mask lies in.

    Raises:
        ValueError: no IPv4 address, or no network mask.
    """
    return interface_address(text).network


def address_range(text: str) -> tuple[IPv4Address, IPv4Address]:
    """Return first and last address of ``a-b``, ``a b``, a prefix, or a single address.

    Raises:
        ValueError: no addresses, or the range runs backwards.
    """
    text = text.strip()
    if "/" in text:
        net = IPv4Network(text, strict=False)
        return net.network_address, net.broadcast_address
    ends = re.split(r"\s*-\s*|\s+", text)
    if len(ends) > 2:
        raise ValueError(f"{text!r} is not an address range: write first-last")
    first, last = IPv4Address(ends[0]), IPv4Address(ends[-1])
    if first > last:
        raise ValueError(f"{text!r} is not an address range: it runs backwards")
    return first, last


def range_text(first: IPv4Address | int, last: IPv4Address | int) -> str:
    """Write a range in its normal form, ``first-last``."""
    return f"{inet_ntoa(int(first).to_bytes(4))}-{inet_ntoa(int(last).to_bytes(4))}"


_Address = TypeVar("_Address", IPv4Address, int)


def merge_ranges(ranges: Iterable[tuple[_Address, _Address]]) -> list[tuple[_Address, _Address]]:
    """Return the same addresses in ascending ranges, those that touch or overlap made one."""
    merged: list[tuple[_Address, _Address]] = []
    for first, last in sorted(ranges):
        if merged and int(first) <= int(merged[-1][1]) + 1:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return merged


def subtract_ranges(
    whole: Iterable[tuple[_Address, _Address]], holes: Iterable[tuple[_Address, _Address]]
) -> list[tuple[_Address, _Address]]:
    """Return what is left of ``whole`` without ``holes``, as ascending ranges."""
    left: list[tuple[_Address, _Address]] = []
    taken = merge_ranges(holes)
    at = 0
    for low, high in merge_ranges(whole):
        while at < len(taken) and taken[at][1] < low:
            at += 1
        begin = low
        while at < len(taken) and taken[at][0] <= high:
            first, last = taken[at]
            if begin < first:
                left.append((begin, first - 1))
            if last >= high:
                break
            begin = last + 1
            at += 1
        else:
            left.append((begin, high))
    return left


@lru_cache(maxsize=4096)
def host_range(net: IPv4Network) -> tuple[IPv4Address, IPv4Address]:
    """Return first and last address that a terminal may have: all but network and broadcast address (RFC 1878).

    In a /31 (RFC 3021) and a /32 every address counts.
    """
    if net.prefixlen >= 31:
        return net.network_address, net.broadcast_address
    return net.network_address + 1, net.broadcast_address - 1
