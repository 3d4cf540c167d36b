"""VLANs on ports, bridges and interfaces: which VLAN is where, tagged or untagged."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from auditor.core.domains import Domain, of_bridge
from auditor.core.values import ALL_VLANS, NO_VLANS, VlanSet
from auditor.platforms.definition import Platform
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Ref, Refs
from auditor.topology.chip_ports import apart, ways_of
from auditor.topology.contrary import addresses_taken_out, contrary_in_chips, several_native
from auditor.topology.interfaces import PORT_KINDS, Interface, Interfaces
from auditor.topology.vlan_names import VlanNames
from auditor.topology.vlan_tables import Declared, Membership, carry_out, put_in
from auditor.topology.wifi_interfaces import Tagging

UNNUMBERED = 1
"""The VLAN of untagged frames where a device that keeps VLANs apart says none: the default PVID of IEEE 802.1Q."""
_DEEPEST = 8
"""How far an interface is followed down through others that it lies on: they may lie on each other."""
_IN_USE = InterfaceRow.fields("addresses", "method", "bridge")


class Layer2:
    """Answers which VLANs a port carries and which VLAN an interface belongs to.

    ``tagging``: the tags that interfaces put on what they take from the air; ``joined``: the bridges that
    such interfaces say to join.
    """

    def __init__(
        self,
        platform: Platform,
        interfaces: Interfaces,
        read_rows: ReadRows,
        tagging: Sequence[Tagging] = (),
        joined: Collection[str] = (),
    ) -> None:
        self.interfaces = interfaces
        self._air = tagging
        self._joined_from_the_air = joined
        self.model = platform.bridging
        self.names = VlanNames(platform.vlans, interfaces, read_rows)
        self._bridging = {i.parent for i in interfaces.devices.values() if i.vlan_tag and i.bridge}
        self.declared: dict[int, Declared] = {}
        self.members: dict[str, Membership] = {}
        self.voice: set[int] = set()
        self._groups: dict[int, set[str]] = {}
        self._bridges: set[str] = set()
        self._tables = any(rule.feature == "vlan" for rule in platform.every_section)
        active = [row for row in read_rows.vlan if not row.inactive]
        in_tables = [row for row in active if not row.says("applied")]
        self._of_chips = apart(in_tables)[0] if self.model.last_entry else []
        self._chips = {row.bridge for row in active if row.says("applied")}
        rows = self._applied(active)
        self._rows = rows
        self.off = {vid for row in rows if row.disabled for vid in row.vids}
        for row in rows:
            if row.disabled:
                continue
            bridge = row.bridge
            if bridge:
                self._bridges.add(bridge)
            for vid in row.vids - self.off:
                self._declare(vid, row)
                if row.says("voice"):
                    (self.voice.add if row.voice else self.voice.discard)(vid)
                if row.trunk_groups:
                    self._groups.setdefault(vid, set()).update(row.trunk_groups)
                if bridge and row.cpu:
                    self._member(bridge).tagged[vid] = row
                carry_out(self.members, vid, row, self._ports)
        put_in(self.members, interfaces.devices.values())
        self._cut_off, self.dead_ends, self._open = ways_of(rows, interfaces, platform.bridging, self._bridges)
        self._cut_off |= {i.name for port in interfaces.bundled for i in interfaces.children.get(port, ())}
        self._parents = {i.parent for i in interfaces.all() if i.parent}
        self._plain = any(self.plain(i) and interfaces.members(i.name) for i in interfaces.devices.values())

    def _applied(self, rows: list[VlanRow]) -> list[VlanRow]:
        """Return the rows that hold: of tables in use, and where one of a VLAN replaces another, the last of each."""
        off = {row.bridge for row in rows if row.says("applied") and not row.applied}
        rows = [row for row in rows if row.bridge not in off or row.says("applied")]
        if not self.model.last_entry:
            return rows
        chips = {row.bridge for row in rows if any(map(str.isdecimal, (*row.tagged_ports, *row.untagged_ports)))}
        bridges = {name for name, device in self.interfaces.devices.items() if device.kind == "bridge"}
        rows = [row for row in rows if not row.bridge or row.bridge in chips | bridges or row.says("applied")]
        return list({(row.bridge, row.index or row.vlan_ids or id(row)): row for row in rows}.values())

    def unknown(self) -> Iterator[Ref]:
        """Yield the lines by which a table has a port send several VLANs untagged, which no setting can say.

        So are those that put a port into a VLAN both tagged and untagged, where it is either; those that take an
        address out of a VLAN that has it; those that leave open which port of a chip the device itself is; and those
        that are ``contrary``.
        """
        yield from several_native(self.interfaces)
        yield from (ref for row in self._open for ref in row.at("tagged_ports"))
        yield from addresses_taken_out(self._rows)
        yield from contrary_in_chips(self._of_chips, self._chips)
        for port, own in self.members.items() if not self.model.pvid_apart else ():
            both = own.untagged.keys() & own.tagged.keys() if self.model.either else set()
            for row in (own.untagged[vid] for vid in own.untagged if len(own.untagged) > 1 or vid in both):
                refs = row.refs("untagged_ports")
                listed = [list(self._ports(row.bridge, [name])) for name in row.untagged_ports]
                yield from (ref for ref, names in zip(refs, listed, strict=False) if port in names)

    def _ports(self, bridge: str, ports: Iterable[str]) -> Iterator[str]:
        """Yield the names of the ports that a row of a bridge's table puts into its VLANs."""
        for port in ports:
            name = self.interfaces.book.canonical(port)
            if port.isdecimal() and bridge:
                name = self.model.chip_port.format(bridge=bridge, port=port)
            if not self.model.members_first or bridge in (name, self.interfaces.bridge_of.get(name)):
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

    def unsaid_in(self, vid: int) -> list[str]:
        """Return the ports that are untagged in no VLAN, though no line takes them out of the one that all begin in."""
        out = {port for row in self._rows if vid in row.vids for port in self._ports(row.bridge, row.removed_ports)}
        ports = {i.name for i in self.interfaces.devices.values() if i.kind in PORT_KINDS} | self.members.keys()
        left = (port for port in ports - out - self.interfaces.bundled if not self._member(port).untagged)
        return sorted(left)

    def of_other_groups(self, groups: Collection[str]) -> VlanSet:
        """Return the VLANs that only trunks of other groups carry."""
        return VlanSet(vid for vid, wanted in self._groups.items() if wanted.isdisjoint(groups))

    def aware(self, bridge: Interface) -> bool:
        """Return whether a bridge keeps VLANs apart: as it says, or by having a table."""
        return bridge.vlan_aware if bridge.says("vlan_aware") else bridge.name in self._bridges

    def plain(self, interface: Interface) -> bool:
        """Return whether an interface is a bridge that keeps no VLANs apart and has no number of its own."""
        return interface.kind == "bridge" and isinstance(self._domain_of_bridge(interface), str)

    def over(self, name: str) -> Interface | None:
        """Return the bridge without a number that an interface is on."""
        bridge = self.interfaces.bridge(name)
        return bridge if bridge and self.plain(bridge) else None

    def tags_on(self, name: str) -> dict[int, tuple[Interface, bool]]:
        """Return the tagged subinterfaces of an interface that are on: the tag, and whether it travels untagged.

        Where VLANs are bridged, one that is neither bridged nor has an address, nor anything on it, has no effect.
        """
        bridging = self._plain or name in self._bridging
        return {
            int(child.vlan_tag): (child, child.tag_native)
            for child in self.interfaces.children.get(name, [])
            if child.enabled and child.name not in self._cut_off and not (bridging and self.unused(child))
        }

    def unused(self, child: Interface) -> bool:
        """Return whether a subinterface is on no bridge and has no address, nor anything on it."""
        bridged = child.name in self.interfaces.bridge_of
        return not (bridged or child.name in self._parents or child.says_any(_IN_USE))

    def alone_on_the_air(self, name: str, bridge: str) -> bool:
        """Return whether an interface for Wi-Fi is on no bridge where frames are taken up by bridges alone."""
        bridged = bridge or name in self.interfaces.bridge_of or name in self.members
        found = self.interfaces.bridge_of and name and not bridged and not self.interfaces.children.get(name)
        return bool(self.model.members_first and found)

    def tags_through(self, bridge: Interface) -> VlanSet:
        """Return the tags that cross a plain bridge: of VLAN interfaces laid on it, and of what is taken from the air.

        Each of its ports carries them tagged.
        """
        return VlanSet({*self.tags_on(bridge.name), *(air.tag for air in self._air if self._of_air(air) is bridge)})

    def _of_air(self, air: Tagging) -> Interface | None:
        """Return the bridge without a number that takes up what comes from the air."""
        bridge = self.interfaces.devices.get(air.bridge or self.interfaces.bridge_of.get(air.interface, ""))
        return bridge if bridge and self.plain(bridge) else None

    def taken_from_the_air(self) -> list[Tagging]:
        """Return the tags from the air that cross a bridge without a number."""
        return [air for air in self._air if self._of_air(air)]

    def leads(self, port: Interface) -> dict[int, Domain]:
        """Return the domains that tags of a port lead into where that is a bridge without a number, or of another one.

        So it is where a VLAN interface that is laid on the port, or on the bridge that the port is on, is on a bridge.
        """
        found: dict[int, Domain] = {}
        bridge_of = self.interfaces.bridge_of
        below = [bridge_of[port.name]] if port.name in bridge_of else []
        if port.name in self.members and not below:  # of a chip, whose VLANs are those of the device beside it
            below = [name for name in self.interfaces.children if name not in bridge_of]
        for name in (*below, port.name):
            for tag, (child, _) in self.tags_on(name).items():
                bridge = self.over(child.name)
                if bridge:
                    found[tag] = self._domain_of_bridge(bridge)
        return found

    def tags_of(self, bridge: Interface) -> VlanSet:
        """Return the tags that lead into a bridge: those of the VLAN interfaces that are on it."""
        on_it = (m for m in self.interfaces.members(bridge.name) if m.name not in self._cut_off)
        return VlanSet(int(member.vlan_tag) for member in on_it if member.vlan_tag and member.enabled)

    def plain_bridges(self) -> list[Interface]:
        """Return the bridges without a number that something is on, or leads into from a network or the air."""
        below = [self.interfaces.below(network) for network in self.interfaces.networks.values()]
        joined = {*self._joined_from_the_air, *(each.name for each in below if each)}

        def there(bridge: Interface) -> bool:
            used = bridge.enabled and (bridge.name in joined or bool(self.interfaces.members(bridge.name)))
            return used or (bridge.says_any(_IN_USE) and not self.lonely(bridge))

        return [each for each in self.interfaces.devices.values() if self.plain(each) and there(each)]

    def vlan_of(self, interface: Interface, depth: int = 0) -> Domain | None:
        """Return the domain whose layer-3 interface this is; ``None`` for a routed port and what is in no VLAN."""
        if depth > _DEEPEST:
            return None
        if interface.vid:
            return int(interface.vid)
        parent = self.interfaces.below(interface)
        if interface.vlan_tag and interface.kind != "bridge":
            bridge = self.over(interface.name)
            if bridge:
                return self._domain_of_bridge(bridge)
            tag = int(interface.vlan_tag)
            if interface.name in self._cut_off:
                return None
            if parent and parent.kind == "bridge" and self.aware(parent) and self._tables:
                own = self.members.get(parent.name, Membership())
                return tag if parent.admits != "untagged" and tag in own.tagged else None
            over = self.interfaces.bridge(parent.name) if parent and self.model.members_first else None
            return None if over and self.aware(over) else tag
        if interface.kind == "bridge":
            deaf = interface.admits == "tagged" and self.aware(interface)
            return None if deaf else self._domain_of_bridge(interface)
        if interface.kind in ("network", "shared"):
            return self.vlan_of(parent, depth + 1) if parent else None
        bridge = self.interfaces.bridge(interface.name)
        if bridge:
            return self.vlan_of(bridge, depth + 1)
        return None

    def _domain_of_bridge(self, bridge: Interface) -> Domain:
        if self.aware(bridge):
            return int(bridge.untagged_vlan or UNNUMBERED)
        if bridge.vlan_tag:
            return int(bridge.vlan_tag)
        if self.model.groups_of_vlans:
            tags = {member.vlan_tag for member in self.interfaces.members(bridge.name)}
            if len(tags) == 1 and (tag := tags.pop()) and not self._in_other_groups(tag, bridge):
                return int(tag)
        return of_bridge(bridge.bridge_id or bridge.name)

    def _in_other_groups(self, tag: str, bridge: Interface) -> bool:
        names = (i.name for i in self.interfaces.devices.values() if i.vlan_tag == tag)
        return any(self.interfaces.bridge_of.get(name, bridge.name) != bridge.name for name in names)

    def lonely(self, bridge: Interface) -> bool:
        """Return whether nothing is on a bridge, in its table or laid on it: it serves as a loopback interface."""
        found = self.interfaces.members(bridge.name) or self.interfaces.children.get(bridge.name)
        return not found and bridge.name not in self._bridges and bridge.name not in self._joined_from_the_air

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
            return port.at("bridge", "in_lists") + bridge.at("vlan_aware", "vlan_tag", "members") + laid_on
        own = self.members.get(port.name, Membership()).lines()
        laid_on = tuple(ref for child, _ in self.tags_on(port.name).values() for ref in child.at("vlan_tag"))
        return own + laid_on + port.at("bridge", "tagged_vlans", "untagged_vlan", "admits")

    def bridged(self, port: Interface) -> tuple[Domain | None, VlanSet]:
        """Return the domain of untagged frames and the tagged VLANs of a port on a bridge or in a table by VLAN."""
        own = self.members.get(port.name, Membership())
        bridge = self.interfaces.bridge(port.name)
        if bridge and not self.aware(bridge):
            return self._on_plain_bridge(port, bridge)
        carried = VlanSet({*own.tagged, *own.untagged, *self.tags_on(port.name), *port.tagged_vlans})
        if port.admits == "tagged":
            return None, carried
        untagged = int(port.untagged_vlan or 0) or None
        if untagged is None and (self.model.pvid_apart or not carried):
            untagged = UNNUMBERED
        if untagged is None:
            untagged = own.pvid
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

    def _on_plain_bridge(self, port: Interface, bridge: Interface) -> tuple[Domain, VlanSet]:
        """A bridge that keeps no VLANs apart: the tags that cross it count, and those taken off at the port."""
        untagged = self._domain_of_bridge(bridge)
        carried = VlanSet({*self.tags_on(port.name), *self.tags_through(bridge)})
        return untagged, carried.but(untagged if isinstance(untagged, int) else None)
