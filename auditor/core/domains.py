"""Broadcast domains (IEEE 802.1Q): what a VLAN is on devices that number it, and a bridge on devices that do not."""

from __future__ import annotations

_BRIDGE = "bridge "

Domain = int | str
"""A VLAN's number, or ``bridge NAME`` where a bridge passes frames without a number."""


def domain(key: str) -> Domain:
    """Return the domain that the key of a setting stands for: ``10``, or ``bridge br-iot``."""
    return key if key.startswith(_BRIDGE) else int(key)


def numbered(key: str) -> bool:
    """Return whether the key of a setting is a VLAN's number."""
    return not key.startswith(_BRIDGE)
