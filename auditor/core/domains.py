"""Broadcast domains (IEEE 802.1Q): what a VLAN is on devices that number it, and a bridge on devices that do not."""

from __future__ import annotations

from collections.abc import Iterable

from auditor.core.values import VlanSet

_BRIDGE = "bridge "

Domain = int | str
"""A VLAN's number, or ``bridge NAME`` where a bridge passes frames without a number."""


def domain(key: str) -> Domain:
    """Return the domain that the key of a setting stands for: ``10``, or ``bridge br-iot``."""
    return key if key.startswith(_BRIDGE) else int(key)


def numbers(domains: Iterable[Domain]) -> VlanSet:
    """Return those of some domains that have a number."""
    return VlanSet(each for each in domains if isinstance(each, int))
