"""Text to types: what a value of a row may say, whatever dialect says it."""

from __future__ import annotations

import re
from ipaddress import IPv4Address, IPv4Interface, ip_address
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, PlainValidator

from auditor.core.addresses import address_range, interface_address, network, network_key
from auditor.core.values import (
    ALL_VLANS,
    INFINITE_SECONDS,
    VlanSet,
    allowed_vlans,
    duration_seconds,
    mac_address,
    vlan_id,
)

REMOVED, TAGGED, UNTAGGED = "removed", "tagged", "untagged"
"""What a line does with a port in some VLANs."""
Range = tuple[int, int]
"""First and last address, as numbers."""
HELD_BLANK = "\ue000"
"""Stands for a blank inside a quoted word, where words are cut at blanks."""
_MOST_LINES = 1000
"""More terminal lines than any device has that logs people in from the network."""
_NO = frozenset({"no", "false", "0", "off"})


def freed(value: Any) -> Any:
    """Return a value with the blanks that were held inside words."""
    if isinstance(value, str):
        return value.replace(HELD_BLANK, " ")
    return tuple(freed(part) for part in value) if isinstance(value, tuple) else value


def flag(value: str | bool) -> bool:
    """Return whether a setting is on: ``no …``, ``no``, ``0``, ``off``, ``disable``, ``down`` and ``none`` are not."""
    return _says(value, _NO | {"disable", "disabled", "down", "none"})


def off_flag(value: str | bool) -> bool:
    """Return whether a thing is switched off: ``shutdown``, ``disable``, ``down`` and ``yes`` say so."""
    return _says(value, _NO | {"enable", "enabled", "up"})


def _says(value: str | bool, negative: frozenset[str]) -> bool:
    if isinstance(value, bool):
        return value
    text = value.strip().lower()
    return not text.startswith("no ") and text not in negative


def words(value: str | list[str] | None) -> list[str]:
    """Return the words of a value or of a list of values, cut at blanks and commas."""
    texts = [value] if isinstance(value, str) else value or []
    return [word for text in texts if text for word in re.split(r"[,\s]+", text) if word]


def commas(value: str | list[str] | None) -> list[str]:
    """Return what stands between commas in a value or in a list of values; it may hold blanks."""
    return [part.strip() for text in _lines(value) for part in text.split(",") if part.strip()]


def _lines(value: str | list[str] | None) -> list[str]:
    texts = [value] if isinstance(value, str) else value or []
    return [text.strip() for text in texts if text and text.strip()]


def _address(text: str) -> str:
    """Return an address with its prefix, or the word that stands for a leased one."""
    word = text.strip().lower()
    if word.startswith("dhcp"):
        return "dhcp"
    return str(interface_address(text))


def _vlan(value: str) -> str:
    """Return a VLAN's id, or its name where a dialect uses names."""
    return str(vlan_id(value)) if value.strip().isdecimal() else value.strip()


def _vlan_or_range(value: str) -> str:
    """Return a VLAN's name, or a number or range of numbers that VLANs can have."""
    if re.fullmatch(r"[\d-]+", value):
        VlanSet.parse(value)
    return value


def _port_names(text: str) -> list[str]:
    """Return the ports of ``ge-0/0/1 to ge-0/0/4`` or ``ge-0/0/[1-4,7]``, a plain name, or a shape of names."""
    ends = re.fullmatch(r"(\S*?)(\d+) to (\S*?)(\d+)", text) or re.fullmatch(r"(\S*)\[(\d+)-()(\d+)\]", text)
    if ends and ends[3] in ("", ends[1]) and int(ends[2]) <= int(ends[4]) < 256:
        return [f"{ends[1]}{number}" for number in range(int(ends[2]), int(ends[4]) + 1)]
    listed = re.fullmatch(r"([^\[]*)\[([\d,-]+)\]([^\[*]*)", text)
    if listed:
        numbers = [part.split("-") for part in listed[2].split(",")]
        if all(len(ends) < 3 and all(ends) and int(ends[0]) <= int(ends[-1]) < 256 for ends in numbers):
            each = [number for ends in numbers for number in range(int(ends[0]), int(ends[-1]) + 1)]
            return [f"{listed[1]}{number}{listed[3]}" for number in each]
    if not re.fullmatch(r"[\w/:*-]+", text):
        raise ValueError(f"{text!r} is no port and no range of ports in one row")
    return [text]


def _operations(value: Any) -> list[str]:
    """Return the operations on an allowed list, each of which can be carried out."""
    found = _lines(value)
    for operation in found:
        allowed_vlans([operation])
    return found


def _membership(text: str) -> tuple[str, VlanSet]:
    """Return what ``10,20``, ``add 10 untagged``, ``remove 1`` or ``no … 1`` does, and with which VLANs."""
    form = r"(?:(?:(?P<off>remove|no\b.*)|add) +)?(?P<vlans>all|\d[\d,-]*)(?: (?P<how>tagged|untagged))?"
    match = re.fullmatch(form, text)
    if not match:
        raise ValueError(f"{text!r} puts no port into a VLAN")
    vlans = ALL_VLANS if match["vlans"] == "all" else VlanSet.parse(match["vlans"])
    return REMOVED if match["off"] else match["how"] or TAGGED, vlans


def _option(text: str) -> str:
    """Return a DHCP option with its value; one by number must be one that RFC 2132 has room for."""
    code = re.split(r"[,\s]", text, maxsplit=1)[0]
    if code.isdecimal() and not (len(code) <= 3 and 1 <= int(code) <= 254):
        raise ValueError(f"{code[:9]} is no number of a DHCP option: they run from 1 to 254")
    return text


def _netmask(value: str) -> str:
    interface_address(f"0.0.0.0 {value}")
    return value


def line_numbers(value: str) -> list[int]:
    """Return the numbers of ``0 4``, or of one line alone.

    Raises:
        ValueError: the last is before the first, or there are more than any device has.
    """
    numbers = [int(word) for word in value.split()]
    if not numbers[0] <= numbers[-1] < _MOST_LINES:
        raise ValueError(f"{value!r} are no terminal lines")
    return list(range(numbers[0], numbers[-1] + 1))


Flag = Annotated[bool, BeforeValidator(flag)]
OffFlag = Annotated[bool, BeforeValidator(off_flag)]
Present = Annotated[bool, BeforeValidator(bool)]
"""True by being there, whatever it says."""
WordList = Annotated[tuple[str, ...], BeforeValidator(words)]
Commas = Annotated[tuple[str, ...], BeforeValidator(commas)]
"""Names that may hold blanks, with commas between them."""
TextLines = Annotated[tuple[str, ...], BeforeValidator(_lines)]
Vlans = Annotated[VlanSet, BeforeValidator(lambda value: VlanSet.parse(",".join(words(value))))]
Addresses = Annotated[tuple[str, ...], BeforeValidator(lambda value: [_address(text) for text in _lines(value)])]
GroupAddresses = Annotated[
    tuple[tuple[str, str], ...], PlainValidator(lambda value: tuple(_of_group(text) for text in _lines(value)))
]
"""Addresses, each with what it is of: ``1 192.0.2.1``."""
Ranges = Annotated[tuple[Range, ...], PlainValidator(lambda value: tuple(span(text) for text in commas(value)))]
"""Address ranges as first and last number, which is quicker to reckon with."""
VlanRef = Annotated[str, BeforeValidator(_vlan)]
VlanRefs = Annotated[tuple[str, ...], BeforeValidator(lambda value: [_vlan_or_range(text) for text in _lines(value)])]
PortNames = Annotated[
    tuple[str, ...], BeforeValidator(lambda value: [name for text in _lines(value) for name in _port_names(text)])
]
Memberships = Annotated[
    tuple[tuple[str, VlanSet], ...], PlainValidator(lambda value: tuple(_membership(text) for text in _lines(value)))
]
"""Lines that put a port into VLANs or take it out, as what they do and the VLANs."""
AllowedVlans = Annotated[tuple[str, ...], BeforeValidator(_operations)]
Servers = Annotated[tuple[str, ...], BeforeValidator(lambda value: [str(ip_address(word)) for word in words(value)])]
"""IP addresses of servers, of either version."""
Prefix = Annotated[str, BeforeValidator(lambda value: network_key(network(value)))]
Netmask = Annotated[str, BeforeValidator(_netmask)]
MOST_ADDRESSES = 2**24
"""As many as 10.0.0.0/8 has, the largest private prefix (RFC 1918)."""
Offset = Annotated[int, Field(ge=0, lt=MOST_ADDRESSES)]
"""How far into a network an address is, or how many addresses there are."""
LineNumbers = Annotated[tuple[int, ...], BeforeValidator(line_numbers)]
"""Terminal lines by their numbers."""
OptionCode = Annotated[int, Field(ge=1, le=254)]
"""RFC 2132: 0 pads and 255 ends the option field."""
Options = Annotated[tuple[str, ...], BeforeValidator(lambda value: [_option(text) for text in _lines(value)])]
DayCount = Annotated[int, Field(ge=0, le=INFINITE_SECONDS // 86400)]
Hours = Annotated[int, Field(ge=0, le=INFINITE_SECONDS // 3600)]
Minutes = Annotated[int, Field(ge=0, le=INFINITE_SECONDS // 60)]
"""Parts of a lease time, which has 32 bits of seconds (RFC 2131)."""
Seconds = Annotated[int, BeforeValidator(duration_seconds)]
ReservationList = Annotated[
    tuple[tuple[str, str], ...], PlainValidator(lambda value: tuple(_reserved(text) for text in _lines(value)))
]
"""Reservations: an address in front, its mask where one is said, whatever else, the MAC address at the end."""
Ipv4 = Annotated[str, BeforeValidator(lambda value: str(IPv4Address(value)))]
Mac = Annotated[str, BeforeValidator(mac_address)]
Macs = Annotated[tuple[str, ...], BeforeValidator(lambda value: [mac_address(word) for word in words(value)])]
"""MAC addresses."""
ShortMac = Annotated[
    str, BeforeValidator(lambda value: mac_address(":".join(octet.zfill(2) for octet in str(value).split(":"))))
]
"""A MAC address whose octets may have one digit alone."""


def span(first: str, last: str = "") -> Range:
    """Return first and last address, as numbers, of a range as text, or by its two ends.

    Raises:
        ValueError: no addresses, the range runs backwards, or it has more addresses than any network is given.
    """
    low, high = map(int, address_range(f"{first}-{last}" if last else first))
    if high - low >= MOST_ADDRESSES:
        raise ValueError("a range of more addresses than any network has")
    return low, high


def _of_group(text: str) -> tuple[str, str]:
    group, *_, address = text.split()
    return group, _address(address)


def _reserved(text: str) -> tuple[str, str]:
    address, *rest, mac = text.split()
    if rest and re.fullmatch(r"[\d.]+", rest[0]):
        address = f"{address}/{rest[0]}"
    return str(IPv4Interface(address).ip), mac_address(mac)
