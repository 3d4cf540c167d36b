"""Options of DHCP by their numbers: what a value is sent as, and what it says to clients where that is another form."""

from __future__ import annotations

import re
from ipaddress import IPv4Address
from typing import Literal

from auditor.core.values import VlanSet

Form = Literal["address", "text", "hex"]

_ADDRESSES = VlanSet.parse("1,3-11,16,21,28,32-33,41-42,44-45,48-50,54,65,68-76,138,150")
_TEXTS = VlanSet.parse("12,14-15,17-18,40,47,56,62,64,66-67,100-101,114,209-210")
"""The options whose values are addresses, and text: RFC 2132; 100 and 101 RFC 4833, 114 RFC 8910, 138 RFC 5417, 150 RFC
5859, 209 and 210 RFC 5071."""


_DIGITS = re.compile(r"(?:[0-9a-fA-F]{2})+")
_OCTETS = re.compile(r"0x(?:[0-9a-fA-F]{2})+|(?:[0-9a-fA-F]{4}\.)+[0-9a-fA-F]{2,4}|(?:[0-9a-fA-F]{2}:)+[0-9a-fA-F]{2}")


def usual_form(code: int, value: str) -> Form:
    """Return the form in which an option's value is sent: by its number, or by its look where that leaves it open."""
    if code in _ADDRESSES:
        return "address"
    if code in _TEXTS:
        return "text"
    if _DIGITS.fullmatch(value):
        return "hex"
    return "address" if _are_addresses(value) else "text"


def octets_in(text: str) -> str:
    """Return the digits alone of a value that is told as octets, in groups or not, and any other value as it is.

    >>> octets_in("0x01AC"), octets_in("f104.0a09.0807"), octets_in("01:ac"), octets_in("192.0.2.1")
    ('01ac', 'f1040a090807', '01ac', '192.0.2.1')
    """
    found = _OCTETS.fullmatch(text)
    return _digits_of(text) if found else text


def sent_as(code: int, value: str, form: str) -> str:
    """Return what clients are told by a value in some form; its form before it where they take it for something else.

    >>> sent_as(66, "626f6f74", "hex"), sent_as(150, "192.0.2.1", "text"), sent_as(150, "192.0.2.1", "address")
    ('boot', 'text 192.0.2.1', '192.0.2.1')
    """
    if form == "hex":
        digits = _digits_of(value)
        value = digits if _DIGITS.fullmatch(digits) else value
    usual = usual_form(code, value)
    if form in ("", usual):
        return value
    if form == "hex" and (meant := _decoded(usual, value)):
        return meant
    return f"{form} {value}"


def _digits_of(text: str) -> str:
    return re.sub(r"^0x|[.:\s]", "", text).lower()


def _decoded(form: Form, digits: str) -> str:
    """Return what octets say in a form; empty where they say nothing."""
    try:
        octets = bytes.fromhex(digits)
    except ValueError:
        return ""
    if form == "address" and octets and len(octets) % 4 == 0:
        return addresses_of(octets)
    text = octets.decode("ascii", "replace")
    return text if form == "text" and text.isascii() and text.isprintable() else ""


def addresses_of(octets: bytes) -> str:
    """Return the addresses that octets hold, four each, joined by commas."""
    return ",".join(str(IPv4Address(octets[at : at + 4])) for at in range(0, len(octets), 4))


def _are_addresses(value: str) -> bool:
    return all(re.fullmatch(r"[\d.]+", part) and part.count(".") == 3 for part in value.split(","))
