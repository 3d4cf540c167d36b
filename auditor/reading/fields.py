"""Text to types: what a value of a row may say, whatever dialect says it."""

from __future__ import annotations

import re
from ipaddress import IPv4Address, ip_address
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from auditor.model.values import (
    VlanSet,
    address_range,
    allowed_vlans,
    duration_seconds,
    interface_address,
    mac_address,
    network,
    network_key,
    vlan_id,
)

HELD_BLANK = "\ue000"
"""Stands for a blank inside a quoted word, where words are cut at blanks."""
_NO = frozenset({"no", "false", "0", "off"})


def freed(value: Any) -> Any:
    """Return a value with the blanks that were held inside words."""
    if isinstance(value, str):
        return value.replace(HELD_BLANK, " ")
    return [freed(part) for part in value] if isinstance(value, list) else value


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


def _operations(value: Any) -> list[str]:
    """Return the operations on an allowed list, each of which can be carried out."""
    found = _lines(value)
    for operation in found:
        allowed_vlans([operation])
    return found


def _netmask(value: str) -> str:
    interface_address(f"0.0.0.0 {value}")
    return value


Flag = Annotated[bool, BeforeValidator(flag)]
OffFlag = Annotated[bool, BeforeValidator(off_flag)]
Present = Annotated[bool, BeforeValidator(bool)]
"""True by being there, whatever it says."""
Words = Annotated[list[str], BeforeValidator(words)]
Commas = Annotated[list[str], BeforeValidator(commas)]
"""Names that may hold blanks, with commas between them."""
Lines = Annotated[list[str], BeforeValidator(_lines)]
Vlans = Annotated[VlanSet, BeforeValidator(lambda value: VlanSet.parse(",".join(words(value))))]
Addresses = Annotated[list[str], BeforeValidator(lambda value: [_address(text) for text in _lines(value)])]
Ranges = Annotated[list[Any], BeforeValidator(lambda value: [_span(text) for text in commas(value)])]
"""Address ranges as first and last number, which is quicker to reckon with."""
VlanRef = Annotated[str, BeforeValidator(_vlan)]
AllowedVlans = Annotated[list[str], BeforeValidator(_operations)]
Servers = Annotated[list[str], BeforeValidator(lambda value: [str(ip_address(word)) for word in words(value)])]
"""IP addresses of servers, of either version."""
Prefix = Annotated[str, BeforeValidator(lambda value: network_key(network(value)))]
Netmask = Annotated[str, BeforeValidator(_netmask)]
Offset = Annotated[int, Field(ge=0, lt=2**24)]
"""How far into a network an address is, or how many addresses there are."""
Seconds = Annotated[int, BeforeValidator(duration_seconds)]
Ipv4 = Annotated[str, BeforeValidator(lambda value: str(IPv4Address(value)))]
Mac = Annotated[str, BeforeValidator(mac_address)]


def _span(text: str) -> tuple[int, int]:
    first, last = address_range(text)
    return int(first), int(last)
