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


def of_bridge(name: str) -> Domain:
    """Return the domain of a bridge that passes frames without a number."""
    return f"{_BRIDGE}{name}"


def numbers(domains: Iterable[Domain | None]) -> VlanSet:
    """Return those of some domains that have a number."""
    return VlanSet(each for each in domains if isinstance(each, int))


def unnumbered(domains: Iterable[Domain | None]) -> list[str]:
    """Return those of some domains that have no number, each once and in the order of their names."""
    return sorted({each for each in domains if isinstance(each, str)})


def in_order(domains: Iterable[Domain]) -> list[Domain]:
    """Return some domains, each once: those with a number first."""
    found = set(domains)
    return [*sorted(numbers(found)), *unnumbered(found)]


def domains_text(domains: Iterable[Domain]) -> str:
    """Write a set of domains: numbers in list notation, after them those that have none."""
    found = set(domains)
    return ",".join(part for part in (str(numbers(found)), *unnumbered(found)) if part)


def parse_domains(text: str) -> frozenset[Domain]:
    """Read a set of domains as ``domains_text`` writes it.

    Raises:
        ValueError: something is neither a VLAN id, a range of them, nor a bridge.
    """
    named, _, bridges = text.partition(_BRIDGE)
    found = [f"{_BRIDGE}{name}" for name in bridges.split(f",{_BRIDGE}")] if bridges else []
    return frozenset({*VlanSet.parse(named), *found})
