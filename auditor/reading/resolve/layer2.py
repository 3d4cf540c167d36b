"""VLANs on ports, bridges and interfaces: which VLAN is where, tagged or untagged."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.model.values import ALL_VLANS, NO_VLANS, VlanSet
from auditor.platforms.definition import Platform
from auditor.reading.resolve.facts import Fact, Facts, Refs
from auditor.reading.resolve.interfaces import Interface, Interfaces

UNNUMBERED = 1
"""The VLAN of untagged frames where a device gives it no number: the default port VLAN id of IEEE 802.1Q."""


@dataclass(slots=True)
class Membership:
    """The VLANs that tables by VLAN put a port into, with the rows that say so."""

    tagged: dict[int, Fact] = field(default_factory=dict)
    untagged: dict[int, Fact] = field(default_factory=dict)

    def lines(self) -> Refs:
        """Return the lines that say so."""
        tagged = tuple(ref for fact in self.tagged.values() for ref in fact.at("tagged_ports"))
        return tagged + tuple(ref for fact in self.untagged.values() for ref in fact.at("untagged_ports"))


@dataclass(slots=True)
class Declared:
    """A VLAN that the configuration declares."""

    name: str | None
    fact: Fact
    named_by: Fact


class Layer2:
    """Answers which VLANs a port carries and which VLAN an interface belongs to."""

    def __init__(self, platform: Platform, interfaces: Interfaces, facts: Facts) -> None:
        self.interfaces = interfaces
        self.declared: dict[int, Declared] = {}
        self.members: dict[str, Membership] = {}
        self._bridges: set[str] = set()
        rules = {rule.template: rule for rule in platform.sections}
        names = {rule.port_names for rule in rules.values() if rule.feature == "vlan"}
        self._port_names = next(iter(names - {"{port}"}), "{port}")
        for fact in facts.get("vlan", []):
            if fact.get("inactive") or fact.get("disabled"):
                continue
            bridge = fact.get("bridge", "")
            if bridge:
                self._bridges.add(bridge)
            for vid in fact.get("vlan_ids") or fact.get("index", ()):
                self._declare(vid, fact)
                if bridge and fact.get("cpu", True):
                    self._member(bridge).tagged[vid] = fact
                for port in fact.get("tagged_ports", ()):
                    self._member(self._port(bridge, port)).tagged[vid] = fact
                for port in fact.get("untagged_ports", ()):
                    self._member(self._port(bridge, port)).untagged[vid] = fact

    def _port(self, bridge: str, port: str) -> str:
        if port.isdecimal() and bridge:
            return self._port_names.format(bridge=bridge, port=port)
        return self.interfaces.book.canonical(port)

    def _declare(self, vid: int, fact: Fact) -> None:
        known = self.declared.get(vid)
        name = fact.get("name") or None
        if known is None:
            self.declared[vid] = Declared(name, fact, fact)
        elif name and not known.name:
            self.declared[vid] = Declared(name, known.fact, fact)

    def _member(self, port: str) -> Membership:
        return self.members.setdefault(port, Membership())

    def aware(self, bridge: Interface) -> bool:
        """Return whether a bridge keeps VLANs apart: as it says, or by having a table."""
        return bool(bridge.get("vlan_aware", bridge.name in self._bridges))

    def tags_on(self, name: str) -> dict[int, tuple[Interface, bool]]:
        """Return the tagged subinterfaces of an interface that are on: the tag, and whether it travels untagged."""
        return {
            int(child.get("vlan_tag")): (child, bool(child.get("tag_native")))
            for child in self.interfaces.children.get(name, [])
            if child.enabled
        }

    def vlan_of(self, interface: Interface, depth: int = 0) -> int | None:
        """Return the VLAN whose layer-3 interface this is; ``None`` for a routed port and what is in no VLAN."""
        if depth > 8:
            return None
        if interface.get("vid"):
            return int(interface.get("vid"))
        parent = self.interfaces.below(interface)
        if interface.get("vlan_tag"):
            tag = int(interface.get("vlan_tag"))
            if parent and parent.kind == "bridge" and self.aware(parent):
                own = self.members.get(parent.name, Membership())
                return tag if tag in own.tagged or tag in own.untagged else None
            return tag
        if interface.kind == "bridge":
            return self._vlan_of_bridge(interface)
        if interface.kind in ("network", "shared"):
            return self.vlan_of(parent, depth + 1) if parent else None
        bridge = self.interfaces.bridge(interface.name)
        if bridge:
            return self.vlan_of(bridge, depth + 1)
        return None

    def _vlan_of_bridge(self, bridge: Interface) -> int:
        if self.aware(bridge):
            return int(bridge.get("untagged_vlan") or UNNUMBERED)
        tags = {
            int(member.get("vlan_tag")) for member in self.interfaces.members(bridge.name) if member.get("vlan_tag")
        }
        return tags.pop() if len(tags) == 1 else UNNUMBERED

    def lines_of_bridged(self, port: Interface) -> Refs:
        """Return the lines that put a port on a bridge or into a table by VLAN."""
        bridge = self.interfaces.bridge(port.name)
        if bridge and not self.aware(bridge):
            return port.at("bridge") + bridge.at("vlan_aware", "members")
        own = self.members.get(port.name, Membership()).lines()
        laid_on = tuple(ref for child, _ in self.tags_on(port.name).values() for ref in child.at("vlan_tag"))
        return own + laid_on + port.at("bridge", "untagged_vlan", "admits")

    def bridged(self, port: Interface) -> tuple[int | None, VlanSet]:
        """Return untagged VLAN and tagged VLANs of a port on a bridge or in a table by VLAN."""
        own = self.members.get(port.name, Membership())
        bridge = self.interfaces.bridge(port.name)
        if bridge and not self.aware(bridge):
            if self.interfaces.children.get(bridge.name):
                return UNNUMBERED, ALL_VLANS.but(UNNUMBERED)
            return self._vlan_of_bridge(bridge), NO_VLANS
        tagged = set(own.tagged)
        untagged = sorted(own.untagged)
        pvid = int(port.get("untagged_vlan") or 0) or None
        admits = port.get("admits", "all")
        tagged.update(self.tags_on(port.name))
        if admits == "tagged":
            return None, VlanSet(tagged)
        first = pvid or (untagged[0] if untagged else None if tagged else UNNUMBERED)
        tagged.update(vid for vid in untagged if vid != first)
        return first, VlanSet(tagged).but(first)
