"""All interfaces of a device in one table: rows of one name added up, kinds told, and what lies on what."""

from __future__ import annotations

import re
from collections.abc import Iterator
from ipaddress import IPv4Interface
from itertools import chain

from auditor.platforms.definition import Default
from auditor.platforms.names import IMPOSSIBLE, NameBook
from auditor.reading.row_models import ReadRows, together
from auditor.reading.row_models.field_names import FieldName, Fields
from auditor.reading.row_models.row import LAYER3, Row
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Ref, Refs
from auditor.topology.evidence import apply_defaults
from auditor.topology.logical import of_ports

_OCTET = r"(?:25[0-5]|2[0-4]\d|1\d\d|[1-9]?\d)"
IPV4 = re.compile(rf"{_OCTET}(?:\.{_OCTET}){{3}}")
_ALL = InterfaceRow.fields() - InterfaceRow.fields("name", "kind")
_OF_VLANS = LAYER3 | VlanRow.fields("disabled")
_MEMBERS = InterfaceRow.fields("members")
_SHARED = InterfaceRow.fields("shared_addresses", "shared_used")
_NAMED = {"name", "kind", "relays"}
_PLAIN_NAME = re.compile(r"[\w /-]+")
"""A name of an interface that is no pattern."""


PORT_KINDS = ("port", "bundle")
"""The kinds of interface that are ports."""


class Interface(InterfaceRow):
    """One interface: what all its rows say of it, added up, and where.

    ``vid`` and ``bridge_id`` are numbers in its name: those of its VLAN and of the bridge that it stands for.
    """

    __slots__ = ("_rows",)

    vid: str = ""
    bridge_id: str = ""

    def __init__(self, name: str, kind: str, head: Ref) -> None:
        super().__init__({"name": name, "kind": kind}, head)
        self._rows: list[Row] = []

    def refs(self, name: FieldName) -> Refs:
        """Return the lines of a value: of a list those of all rows, otherwise those of the last row that says it."""
        found: Refs = ()
        for row in self._rows:
            if name in row.said:
                found = found + row.refs(name) if isinstance(row.said[name], tuple) else row.refs(name)
        return found

    def refs_of_each(self, name: FieldName) -> Iterator[Ref]:
        """Yield for each single value of a list the line that says it."""
        for row in self._rows:
            refs = row.refs(name)
            for index in range(len(row.said.get(name, ()))):
                yield refs[min(index, len(refs) - 1)]

    def take(self, row: Row, only: Fields = _ALL) -> None:
        """Add what a row says, or some of it: lists grow, single values are replaced.

        Shared addresses of a row that says itself that they are not in use are left out.
        """
        said = self.said
        unused = _SHARED if row.said.keys() >= _SHARED and not row.said["shared_used"] else frozenset()
        for name, value in row.said.items():
            if name in only and name not in unused:
                said[name] = together(said[name], value) if isinstance(value, tuple) and name in said else value
        self._rows.append(row)

    @property
    def is_named_alone(self) -> bool:
        """Whether no line makes it, and one alone that wants something of it has its name."""
        return all(row.said.keys() <= _NAMED for row in self._rows if isinstance(row, InterfaceRow))

    @property
    def heads(self) -> Refs:
        """The first lines of its sections."""
        return tuple(row.head for row in self._rows)

    @property
    def enabled(self) -> bool:
        """Whether it is switched on."""
        return not self.disabled


_LINKS = Interface.fields("parent", "members", "bridge", "bridge_id", "vlan_tag", "in_lists", "dials")


def _of_each(row: InterfaceRow, rows: list[InterfaceRow]) -> list[InterfaceRow]:
    """Return a row, with what it says of each member in the place of what it says of a list of interfaces."""
    listed = [other.name for other in rows if row.name in other.in_lists] if row.bridge and row.name else []
    return [row.as_of(name, "bridge") for name in listed] + [row]


def _agrees(row: InterfaceRow) -> bool:
    """Return whether the network beside an address is that of the address; one host may have any at its other end."""
    fixed = [IPv4Interface(address) for address in row.addresses if address[0].isdecimal()]
    wide = [address for address in fixed if address.network.prefixlen < 32]
    return all(str(address.network.network_address) == row.network_address for address in wide)


class Interfaces:
    """The table of all interfaces, layer-3 networks kept apart from the devices they lie on."""

    def __init__(self, book: NameBook, read_rows: ReadRows, defaults: list[Default]) -> None:
        self.book = book
        self.devices: dict[str, Interface] = {}
        self.networks: dict[str, Interface] = {}
        self._misnamed: list[Ref] = []
        active = [row for row in read_rows.interface if not row.inactive]
        bridged = {row.name for row in active if row.bridge}
        active = [each for row in active for each in _of_each(row, active)]
        rows, self._folded = of_ports([row for row in active if not row.in_lists or bridged.intersection(row.in_lists)])
        self._without_tracked(rows)
        for row in rows:
            self._take(row)
        for vlan in read_rows.vlan:
            if vlan.says_any(LAYER3) and not vlan.inactive:
                self._of_vlans(vlan)
        self._bridges_of_networks()
        for default in defaults:
            if (name := str(default.where.get("name") or "")) and _PLAIN_NAME.fullmatch(name):
                self._device(name, Ref(0, 0))
        for interface in self.devices.values():
            if interface.listed_mode and not (interface.routed or interface.says("mode")):
                interface.mode = interface.listed_mode
        for interface in self.all() if defaults else ():
            apply_defaults(defaults, interface)
        self._link()

    def all(self) -> Iterator[Interface]:
        """Return every interface, networks last."""
        return chain(self.devices.values(), self.networks.values())

    def unknown(self) -> list[Ref]:
        """Return the lines with names that no interface can have: its own, and those of others that it hangs on."""
        found = list(self._misnamed)
        for interface in self.all():
            hangs_on: dict[FieldName, str] = {
                "parent": interface.parent,
                "bridge": interface.bridge,
                "bundle": interface.bundle,
            }
            for name, other in hangs_on.items():
                if other and self.book.tell(other)[0] == IMPOSSIBLE:
                    found += interface.at(name)
            if interface.relays and interface.is_named_alone:
                found += interface.at("relays", "name")
            if (
                interface.kind == "other"
                and interface.method == "pppoe"
                and not (interface.parent or interface.dial_pool)
            ):
                found += interface.at("method", "name")
        return found

    def _take(self, row: InterfaceRow) -> None:
        text = row.name or row.alias
        if not text:
            return
        kind = row.kind
        if row.network_address and not _agrees(row):
            self._misnamed += row.at("network_address")
        if kind == "network":
            self.networks.setdefault(text, Interface(text, kind, row.head)).take(row)
            return
        try:
            names = self.book.names(text)
        except ValueError:
            self._misnamed += row.at("name" if row.says("name") else "alias")
            return
        for name in names:
            interface = self._device(name, row.head)
            interface.take(row)
            if kind:
                interface.kind = kind

    def _without_tracked(self, rows: list[InterfaceRow]) -> None:
        """Take shared addresses out of use that hang on an interface which is off, or lies on one that is."""
        off = {self.book.canonical(row.name) for row in rows if row.disabled and row.name}
        for row in (row for row in rows if row.tracked):
            names = map(self.book.canonical, row.tracked)
            if not off.isdisjoint(part for name in names for part in (name, name.partition(".")[0])):
                row.shared_used = False

    def _of_vlans(self, row: VlanRow) -> None:
        """Take what a VLAN's own row says of its layer-3 interface, which has no other name."""
        for vid in row.vlan_ids:
            name = f"vlan {vid}"
            interface = self.devices.setdefault(name, Interface(name, "vlan", row.head))
            interface.vid = str(vid)
            interface.take(row, only=_OF_VLANS)

    def _device(self, name: str, head: Ref) -> Interface:
        interface = self.devices.get(name)
        if interface is None:
            kind, parts = self.book.tell(name)
            interface = self.devices[name] = Interface(name, kind, head)
            interface.said.update(parts)
        return interface

    def _bridges_of_networks(self) -> None:
        """A network that is declared as a bridge of several devices gets a bridge of its own to lie on."""
        for network in self.networks.values():
            members = network.members
            if members and network.parent and not network.bridge:
                self._misnamed += network.at("parent")
            if network.bridged:
                bridge = self._device(f"br-{network.name}", network.head)
                bridge.kind = "bridge"
                bridge.said.pop("members", None)
                bridge.take(network, only=_MEMBERS)
                network.parent = bridge.name
            elif members and not network.parent:
                network.parent = members[0]

    def _link(self) -> None:
        self.children: dict[str, list[Interface]] = {}
        self.bridge_of: dict[str, str] = {}
        self.bundled: set[str] = set()
        self.members_off: set[str] = set()
        self.claimed: dict[str, list[Interface]] = {}
        for interface in list(self.devices.values()):
            name = interface.bundle
            bundle = self.device(name) if name and self.book.tell(name)[0] == "bundle" else self.devices.get(name)
            if bundle and bundle.kind == "bundle":
                bundle.members = (*bundle.members, interface.name)
        self._dial()
        linked = dict.fromkeys(i for i in self.all() if i.says_any(_LINKS))
        waiting = list(linked)
        while waiting:
            interface = waiting.pop()
            linked[interface] = None
            bridge = interface.bridge
            named = bridge if self.book.tell(bridge)[0] == "bridge" else ""
            mentioned = (name for name in (interface.parent, named, *interface.members) if name)
            waiting += [self.device(name) for name in mentioned if not name.startswith("@") and not self._has(name)]
        self._bridges = {i.bridge_id: i.name for i in linked if i.bridge_id}
        for interface in linked:
            if interface.vlan_tag and interface.parent:
                self.children.setdefault(self.book.canonical(interface.parent), []).append(interface)
            if interface.kind == "bridge":
                for member in interface.members:
                    self.bridge_of.setdefault(member, interface.name)
                    self.claimed.setdefault(member, []).append(interface)
            if interface.kind == "bundle" and interface.members:
                self._bundle(interface, interface.members)
        for interface in linked:
            bridge = interface.bridge
            if bridge:
                self.bridge_of[interface.name] = self._bridges.get(bridge, bridge)
        for interface in linked:
            for name in (each for each in interface.in_lists if each in self.bridge_of):
                self.bridge_of.setdefault(interface.name, self.bridge_of[name])
        for bridge in {*self.bridge_of.values()} - self.devices.keys():  # which no line declares, but its members
            self.devices[bridge] = Interface(bridge, "bridge", Ref(0, 0))
        for inner, outer in list(
            self.bridge_of.items()
        ):  # what is on a switch of ports that is on a bridge, is on that
            if inner != outer and (device := self.devices.get(inner)) and device.kind == "bridge" and device.enabled:
                self.bridge_of.update({name: outer for name, on in self.bridge_of.items() if on == inner})

    def _dial(self) -> None:
        """An interface of a session with the carrier lies on the one that dials it; only one of a pool is used."""
        pools: dict[str, Interface] = {}
        for interface in self.devices.values():
            if interface.dial_pool and interface.enabled:
                pools.setdefault(interface.dial_pool, interface)
        for interface in self.devices.values():
            if interface.dialled and interface.dials in pools:
                pools[interface.dials].parent = interface.name

    def _bundle(self, bundle: Interface, members: tuple[str, ...]) -> None:
        """A bundle is off where all its ports are, or fewer are on than it needs."""
        ports = [self.device(name) for name in members]
        self.bundled.update(port.name for port in ports)
        if sum(port.enabled for port in ports) < max(1, bundle.min_links):
            if bundle.enabled:
                self.members_off.add(bundle.name)
            bundle.disabled = True

    def bundle_of(self, port: Interface) -> Interface | None:
        """Return the bundle that a port is in: it carries what the bundle carries, whatever its own lines say."""
        bundle = self.devices.get(port.bundle)
        return bundle if bundle and bundle.kind == "bundle" else None

    def _has(self, name: str) -> bool:
        return self.spelt(name) in self.devices

    def spelt(self, name: str) -> str:
        """Return the name by which an interface is known: spelt long, that of the port for a unit that is the port."""
        name = self.book.canonical(name)
        return self._folded.get(name, name)

    def device(self, name: str) -> Interface:
        """Return the device of a name; one that no line declares is known by its name alone."""
        name = self.spelt(name)
        interface = self.devices.get(name)
        if interface is None:
            interface = self._device(name, Ref(0, 0))
        return interface

    def find(self, name: str) -> Interface | None:
        """Return what a name stands for where networks and devices may be meant: a network first."""
        return self.networks.get(name) or self.devices.get(self.spelt(name))

    def below(self, interface: Interface) -> Interface | None:
        """Return what an interface lies on: a device, or by ``@name`` another network."""
        parent = interface.parent
        if parent.startswith("@"):
            return self.networks.get(parent[1:])
        return self.devices.get(self.spelt(parent)) if parent else None

    def members(self, bridge: str) -> list[Interface]:
        """Return the interfaces that are on a bridge."""
        return [
            self.devices[name] for name, found in self.bridge_of.items() if found == bridge and name in self.devices
        ]

    def bridge(self, name: str) -> Interface | None:
        """Return the bridge that an interface is on."""
        found = self.bridge_of.get(name)
        return self.devices.get(found) if found else None

    def shared_bridge(self, name: str) -> Interface | None:
        """Return the bridge of a name or number, if anything else is on it."""
        name = self._bridges.get(name, name)
        return self.devices.get(name) if self.members(name) else None
