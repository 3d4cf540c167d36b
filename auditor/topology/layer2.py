"""VLANs on ports, bridges and interfaces: which VLAN is where, tagged or untagged."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from auditor.core.values import ALL_VLANS, NO_VLANS, VlanSet
from auditor.platforms.definition import Platform
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Refs
from auditor.topology.interfaces import Interface, Interfaces
from auditor.topology.vlan_names import VlanNames

UNNUMBERED = 1
"""The VLAN of untagged frames where a device gives it no number: the default port VLAN id of IEEE 802.1Q."""
_DEEPEST = 8
"""How far an interface is followed down through others that it lies on: they may lie on each other."""
_IN_USE = InterfaceRow.fields("addresses", "method", "bridge")


@dataclass(slots=True)
class Membership:
    """The VLANs that tables by VLAN put a port into, with the rows that say so."""

    tagged: dict[int, VlanRow] = field(default_factory=dict)
    untagged: dict[int, VlanRow] = field(default_factory=dict)

    def lines(self) -> Refs:
        """Return the lines that say so."""
        tagged = tuple(ref for row in self.tagged.values() for ref in row.at("tagged_ports"))
        return tagged + tuple(ref for row in self.untagged.values() for ref in row.at("untagged_ports"))


@dataclass(slots=True)
class Declared:
    """A VLAN that the configuration declares."""

    name: str | None
    row: VlanRow
    named_by: VlanRow


class Layer2:
    """Answers which VLANs a port carries and which VLAN an interface belongs to.

    ``tagging``: interfaces that put a tag on what they take from the air.
    """

    def __init__(
        self, platform: Platform, interfaces: Interfaces, read_rows: ReadRows, tagging: Collection[str] = ()
    ) -> None:
        self.interfaces = interfaces
        self._tagging = tagging
        self._model = platform.bridging
        self.names = VlanNames(platform.vlans, interfaces, read_rows)
        self._bridging = {i.parent for i in interfaces.devices.values() if i.vlan_tag and i.bridge}
        self.declared: dict[int, Declared] = {}
        self.members: dict[str, Membership] = {}
        self.voice: set[int] = set()
        self._groups: dict[int, set[str]] = {}
        self._bridges: set[str] = set()
        self._tables = any(rule.feature == "vlan" for rule in platform.every_section)
        rows = [row for row in read_rows.vlan if not row.inactive]
        self.off = {vid for row in rows if row.disabled for vid in row.vids}
        for row in rows:
            if row.disabled:
                continue
            bridge = row.bridge
            if bridge:
                self._bridges.add(bridge)
            for vid in row.vids - self.off:
                self._declare(vid, row)
                if row.voice:
                    self.voice.add(vid)
                if row.trunk_groups:
                    self._groups.setdefault(vid, set()).update(row.trunk_groups)
                if bridge and row.cpu:
                    self._member(bridge).tagged[vid] = row
                for port in self._ports(bridge, row.tagged_ports):
                    self._member(port).tagged[vid] = row
                for port in self._ports(bridge, row.untagged_ports):
                    self._member(port).untagged[vid] = row

    def _ports(self, bridge: str, ports: Iterable[str]) -> Iterator[str]:
        """Yield the names of the ports that a row of a bridge's table puts into its VLANs."""
        for port in ports:
            name = self.interfaces.book.canonical(port)
            if port.isdecimal() and bridge:
                name = self._model.chip_port.format(bridge=bridge, port=port)
            if not self._model.members_first or bridge in (name, self.interfaces.bridge_of.get(name)):
                yield name
            else:
                self.interfaces.device(name)

    def _declare(self, vid: int, row: VlanRow) -> None:
        known = self.declared.get(vid)
        name = row.name or None
        if known is None:
            self.declared[vid] = Declared(name, row, row)
        elif name:
            self.declared[vid] = Declared(name, known.row, row)

    def _member(self, port: str) -> Membership:
        return self.members.setdefault(port, Membership())

    def of_other_groups(self, groups: Collection[str]) -> VlanSet:
        """Return the VLANs that only trunks of other groups carry."""
        return VlanSet(vid for vid, wanted in self._groups.items() if wanted.isdisjoint(groups))

    def aware(self, bridge: Interface) -> bool:
        """Return whether a bridge keeps VLANs apart: as it says, or by having a table."""
        return bridge.vlan_aware if bridge.says("vlan_aware") else bridge.name in self._bridges

    def tags_on(self, name: str) -> dict[int, tuple[Interface, bool]]:
        """Return the tagged subinterfaces of an interface that are on: the tag, and whether it travels untagged.

        Where some of them are bridged, one that is neither bridged nor has an address has no effect.
        """
        bridging = name in self._bridging
        return {
            int(child.vlan_tag): (child, child.tag_native)
            for child in self.interfaces.children.get(name, [])
            if child.enabled and not (bridging and not child.says_any(_IN_USE))
        }

    def vlan_of(self, interface: Interface, depth: int = 0) -> int | None:
        """Return the VLAN whose layer-3 interface this is; ``None`` for a routed port and what is in no VLAN."""
        if depth > _DEEPEST:
            return None
        if interface.vid:
            return int(interface.vid)
        parent = self.interfaces.below(interface)
        if interface.vlan_tag:
            tag = int(interface.vlan_tag)
            if parent and parent.kind == "bridge" and self.aware(parent) and self._tables:
                own = self.members.get(parent.name, Membership())
                return tag if tag in own.tagged or tag in own.untagged else None
            over = self.interfaces.bridge(parent.name) if parent and self._model.members_first else None
            return None if over and self.aware(over) else tag
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
            return int(bridge.untagged_vlan or UNNUMBERED)
        if bridge.vlan_tag:
            return int(bridge.vlan_tag)
        tags = {int(member.vlan_tag) for member in self.interfaces.members(bridge.name) if member.vlan_tag}
        return tags.pop() if len(tags) == 1 else UNNUMBERED

    def lonely(self, bridge: Interface) -> bool:
        """Return whether nothing is on a bridge, in its table or laid on it: it serves as a loopback interface."""
        found = self.interfaces.members(bridge.name) or self.interfaces.children.get(bridge.name)
        return not found and bridge.name not in self._bridges

    def lines_of_vlan(self, interface: Interface, depth: int = 0) -> Refs:
        """Return the lines that put an interface into its VLAN, or keep it out of it."""
        found = interface.at("parent", "members", "vlan_tag", "disabled")
        parent = self.interfaces.below(interface)
        if interface.kind in ("network", "shared"):
            return found + (self.lines_of_vlan(parent, depth + 1) if parent and depth < _DEEPEST else ())
        declared = self.declared.get(int(interface.vlan_tag or 0))
        return found + (declared.row.at("vlan_ids", "cpu") if declared and parent and parent.kind == "bridge" else ())

    def lines_of_bridged(self, port: Interface) -> Refs:
        """Return the lines that put a port on a bridge or into a table by VLAN."""
        bridge = self.interfaces.bridge(port.name)
        if bridge and not self.aware(bridge):
            laid_on = tuple(ref for child, _ in self.tags_on(bridge.name).values() for ref in child.at("vlan_tag"))
            return port.at("bridge") + bridge.at("vlan_aware", "vlan_tag", "members") + laid_on
        own = self.members.get(port.name, Membership()).lines()
        laid_on = tuple(ref for child, _ in self.tags_on(port.name).values() for ref in child.at("vlan_tag"))
        return own + laid_on + port.at("bridge", "tagged_vlans", "untagged_vlan", "admits")

    def bridged(self, port: Interface) -> tuple[int | None, VlanSet]:
        """Return untagged VLAN and tagged VLANs of a port on a bridge or in a table by VLAN."""
        own = self.members.get(port.name, Membership())
        bridge = self.interfaces.bridge(port.name)
        if bridge and not self.aware(bridge):
            return self._on_plain_bridge(port, bridge)
        carried = VlanSet({*own.tagged, *own.untagged, *self.tags_on(port.name), *port.tagged_vlans})
        if port.admits == "tagged":
            return None, carried
        untagged = int(port.untagged_vlan or 0) or None
        if untagged is None and (self._model.pvid_apart or not carried):
            untagged = UNNUMBERED
        if untagged is None and own.untagged:
            untagged = min(own.untagged)
        if port.admits == "untagged":
            return untagged, NO_VLANS  # tagged frames leave it, and none is let in
        return untagged, carried.but(untagged)

    def passing(self) -> dict[int, list[Interface]]:
        """Return the VLANs that two ports or more list as tagged; a list of all VLANs only lets pass what there is."""
        found: dict[int, list[Interface]] = {}
        listing = [i for i in self.interfaces.devices.values() if i.tagged_vlans and self.counts(i)]
        wide = [port for port in listing if not ALL_VLANS - port.tagged_vlans - VlanSet([UNNUMBERED])]
        for port in listing:
            for vid in port.tagged_vlans if port not in wide else ():
                found.setdefault(vid, []).append(port)
        return {vid: ports for vid, ports in found.items() if len(ports) + len(wide) > 1}

    def counts(self, port: Interface) -> bool:
        """Return whether a port's own VLANs mean something: on a bridge that does not keep VLANs apart none do."""
        bridge = self.interfaces.bridge(port.name)
        return bridge is None or self.aware(bridge)

    def _on_plain_bridge(self, port: Interface, bridge: Interface) -> tuple[int | None, VlanSet]:
        """A bridge that does not keep VLANs apart passes every tag; the tags that are put on there count."""
        if self.interfaces.children.get(bridge.name):
            untagged = self._vlan_of_bridge(bridge)
            carried = VlanSet(self.tags_on(bridge.name)) if self._model.laid_on else ALL_VLANS
            return untagged, carried.but(untagged)
        untagged = self._vlan_of_bridge(bridge)
        members = {member.name for member in self.interfaces.members(bridge.name)}
        if not members.isdisjoint(self._tagging):
            return untagged, ALL_VLANS.but(untagged)
        return untagged, VlanSet(self.tags_on(port.name)).but(untagged)
