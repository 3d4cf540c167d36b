"""How the ports of a bundle agree with those at its other end: by LACP (IEEE 802.1AX), otherwise, or not at all."""

from __future__ import annotations

from dataclasses import dataclass

from auditor.reading.source import Refs
from auditor.topology.interfaces import Interfaces

ACTIVE, PASSIVE, STATIC = "active", "passive", "static"


@dataclass(frozen=True, slots=True)
class Aggregation:
    """How a bundle is made, in all ways that its lines say, and these lines.

    A way is ``active`` or ``passive`` (LACP), ``static``, or another protocol by its name.
    """

    ways: frozenset[str]
    refs: Refs

    def meets(self, other: Aggregation) -> bool:
        """Return whether a bundle can form between the two: every port of it, whichever it is connected to."""
        if ACTIVE in self.ways | other.ways and self.ways | other.ways <= {ACTIVE, PASSIVE}:
            return all(ACTIVE in (one, its) for one in self.ways for its in other.ways)
        return self.ways == other.ways and len(self.ways) == 1 and self.ways != {PASSIVE}

    @property
    def mixed(self) -> bool:
        """Return whether its ports are told different ways, so that they are no bundle together."""
        return len(self.ways) > 1 and not self.ways <= {ACTIVE, PASSIVE}

    def __str__(self) -> str:
        """Return it as a sentence has it."""
        names = {ACTIVE: "LACP, active", PASSIVE: "LACP, passive", STATIC: "static"}
        return " and ".join(sorted(names.get(way, way) for way in self.ways))


def aggregations(interfaces: Interfaces) -> dict[str, Aggregation]:
    """Return the bundles of which is known how they are made."""
    found = {}
    for bundle in interfaces.devices.values():
        if bundle.kind != "bundle" or not bundle.members:
            continue
        parts = [part for part in (interfaces.device(name) for name in bundle.members) if part.says("aggregation")]
        if not parts and bundle.says("aggregation"):
            parts = [bundle]
        if parts:
            refs = tuple(ref for part in parts for ref in part.at("aggregation") if ref.line)
            found[bundle.name] = Aggregation(frozenset(part.aggregation for part in parts), refs or bundle.at("name"))
    return found
