"""Single values in their one normal form: VLAN sets, durations, MAC addresses; addresses are in addresses.py.

Text in, value out; ``ValueError`` with a sentence where the text is no such value. No device syntax lives here
beyond the spellings that several dialects share.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Any, Self

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from auditor.core.addresses import merge_ranges

VLAN_FIRST, VLAN_LAST = 1, 4094
"""IEEE 802.1Q: 12 bits, of which 0 (priority-tagged) and 4095 (reserved) name no VLAN."""


class VlanSet(frozenset[int]):
    """A set of VLAN ids, written in the trade's list notation: ``10,20-22``; empty is ``""``."""

    __slots__ = ()

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read list notation; blanks count as commas.

        Raises:
            ValueError: something is no VLAN id (1 to 4094) or no range of them.
        """
        return cls(_parse_numbers(text))

    def __str__(self) -> str:
        return _format_numbers(self)

    def __repr__(self) -> str:
        return f"VlanSet({str(self)!r})"

    def but(self, *others: int | None) -> VlanSet:
        """Return the set without these ids."""
        return VlanSet(self.difference(others))

    @classmethod
    def _validate(cls, value: Any) -> VlanSet:
        if isinstance(value, VlanSet):
            return value
        if isinstance(value, str):
            return cls.parse(value)
        return cls(vlan_id(item) for item in value)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Accept text, a set or a list; serialise as list notation."""
        return core_schema.union_schema(
            [core_schema.is_instance_schema(cls), core_schema.no_info_plain_validator_function(cls._validate)],
            mode="left_to_right",
            serialization=core_schema.to_string_ser_schema(when_used="json"),
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: Any) -> dict[str, Any]:
        """Describe the serialised form."""
        return {"type": "string", "description": "VLAN ids in list notation, such as 10,20-22"}


@lru_cache(maxsize=2048)
def _parse_numbers(text: str) -> frozenset[int]:
    found: list[tuple[int, int]] = []
    for piece in re.split(r"[,\s]+", text.strip()):
        first, dash, last = piece.partition("-")
        if dash:
            low, high = vlan_id(first), vlan_id(last)
            if low > high:
                raise ValueError(f"{piece!r} is not a VLAN range: it runs backwards")
            found.append((low, high))
        elif piece:
            found.append((vlan_id(piece), vlan_id(piece)))
    return frozenset(number for low, high in merge_ranges(found) for number in range(low, high + 1))


@lru_cache(maxsize=2048)
def _format_numbers(numbers: frozenset[int]) -> str:
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ",".join(str(low) if low == high else f"{low}-{high}" for low, high in runs)


NO_VLANS = VlanSet()
ALL_VLANS = VlanSet(range(VLAN_FIRST, VLAN_LAST + 1))


def vlan_id(value: str | int) -> int:
    """Return a VLAN id.

    Raises:
        ValueError: not a whole number from 1 to 4094 (IEEE 802.1Q).
    """
    if isinstance(value, str) and not re.fullmatch(r"\s*\d{1,9}\s*", value, re.ASCII):
        raise ValueError(f"{value!r} is not a VLAN id")
    number = int(value)
    if not VLAN_FIRST <= number <= VLAN_LAST:
        raise ValueError(f"{number} is not a VLAN id: these run from 1 to 4094")
    return number


def allowed_vlans(operations: Iterable[str], start: VlanSet = ALL_VLANS) -> VlanSet:
    """Carry out a switch's allowed-list lines in their order, on a port that allows ``start`` until told otherwise.

    ``10,20`` replaces the list, ``add``, ``remove`` and ``except`` change it, ``all`` and ``none`` mean what they say;
    ``also`` adds to what lines before it have listed.

    Raises:
        ValueError: an operand is no VLAN list.
    """
    allowed = start
    for index, operation in enumerate(operations):
        word, _, operand = operation.strip().lower().partition(" ")
        match word:
            case "all":
                allowed = ALL_VLANS
            case "none":
                allowed = NO_VLANS
            case "add":
                allowed = VlanSet(allowed | _some(operand))
            case "also":
                allowed = VlanSet(_some(operand) | (allowed if index else NO_VLANS))
            case "remove":
                allowed = VlanSet(allowed - _some(operand))
            case "except":
                allowed = VlanSet(ALL_VLANS - _some(operand))
            case _:
                allowed = _some(operation)
    return allowed


def _some(text: str) -> VlanSet:
    found = VlanSet.parse(text)
    if not found:
        raise ValueError("no VLANs where some are expected")
    return found


_UNITS = {"w": 604800, "d": 86400, "h": 3600, "m": 60, "s": 1}
INFINITE_SECONDS = 0xFFFFFFFF
"""RFC 2131: a lease time of all ones never ends."""


def duration_seconds(value: str | int) -> int:
    """Return seconds of ``12h``, ``1d12h``, ``00:10:00``, ``1d 00:00:00``, ``3600`` or ``infinite``.

    Raises:
        ValueError: no such duration.
    """
    seconds = value if isinstance(value, int) else _seconds(value.strip().lower())
    if not 0 <= seconds <= INFINITE_SECONDS:
        raise ValueError(f"{value!r} is not a duration: it has more than 32 bits, or less than none")
    return seconds


def _seconds(text: str) -> int:
    if text in ("infinite", "infinity", "forever"):
        return INFINITE_SECONDS
    if re.fullmatch(r"\d{1,20}", text, re.ASCII):
        return int(text)
    match = re.fullmatch(r"((?:\d+[wdhms])*)\s*(?:(\d+):(\d\d):(\d\d))?", text)
    if not match or not text:
        raise ValueError(f"{text!r} is not a duration: write it as 12h, 1d, 30m or a number of seconds")
    seconds = sum(int(number) * _UNITS[unit] for number, unit in re.findall(r"(\d+)([wdhms])", match[1]))
    if match[2]:
        seconds += int(match[2]) * 3600 + int(match[3]) * 60 + int(match[4])
    return seconds


def duration_text(seconds: int) -> str:
    """Write seconds with the units that people use: ``12h``, ``1d12h``."""
    if seconds == INFINITE_SECONDS:
        return "infinite"
    parts = []
    for unit, size in _UNITS.items():
        count, seconds = divmod(seconds, size)
        if count:
            parts.append(f"{count}{unit}")
    return "".join(parts) or "0s"


def mac_address(text: str) -> str:
    """Return a MAC address as ``00:00:5e:00:53:01``, whatever its separators.

    Raises:
        ValueError: not twelve hexadecimal digits.
    """
    digits = re.sub(r"[:.\-]", "", text.strip()).lower()
    if not re.fullmatch(r"[0-9a-f]{12}", digits):
        raise ValueError(f"{text!r} is not a MAC address: write twelve hexadecimal digits, as 00:00:5e:00:53:01")
    return ":".join(digits[i : i + 2] for i in range(0, 12, 2))
