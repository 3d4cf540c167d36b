"""All interfaces of a device in one table: rows of one name added up, kinds told, and what lies on what."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from ipaddress import IPv4Interface, ip_address
from typing import Any

from auditor.platforms.definition import Default
from auditor.platforms.names import IMPOSSIBLE, NameBook
from auditor.reading.resolve.logical import of_ports
from auditor.reading.resolve.read_rows import ReadRow, ReadRows, Ref, Refs, apply_defaults
from auditor.reading.row_models import LAYER3, together


class Interface:
    """One interface: what all its rows say of it, and where."""

    __slots__ = ("_rows", "head", "kind", "name", "values")

    def __init__(self, name: str, kind: str, head: Ref) -> None:
        self.name = name
        self.kind = kind
        self.head = head
        self.values: dict[str, Any] = {}
        self._rows: list[ReadRow] = []

    def get(self, name: str, default: Any = None) -> Any:
        """Return a value, or the default where nothing is said."""
        return self.values.get(name, default)

    def at(self, *names: str) -> Refs:
        """Return the lines of some values; the interface's first line where they have none."""
        return tuple(ref for name in names for ref in self._lines(name)) or (self.head,)

    def each(self, name: str) -> Iterator[tuple[Any, Ref]]:
        """Yield the single values of a list, each with its line."""
        for row in self._rows:
            refs = row.refs(name)
            for index, value in enumerate(row.get(name, ())):
                yield value, refs[min(index, len(refs) - 1)]

    def _lines(self, name: str) -> Refs:
        found: Refs = ()
        for row in self._rows:
            if name in row.values:
                found = found + row.refs(name) if isinstance(row.values[name], list) else row.refs(name)
        return found

    def take(self, row: ReadRow, only: Collection[str] = ()) -> None:
        """Add a row, or some of its fields: lists grow, single values are replaced."""
        values = self.values
        for name, value in row.values.items():
            if only and name not in only:
                continue
            values[name] = together(values[name], value) if isinstance(value, list) and name in values else value
        self._rows.append(row)

    @property
    def enabled(self) -> bool:
        """Whether it is switched on."""
        return not self.values.get("disabled", False)


_LINKS = ("parent", "members", "bridge", "bridge_id", "vlan_tag")


class Interfaces:
    """The table of all interfaces, layer-3 networks kept apart from the devices they lie on."""

    def __init__(self, book: NameBook, read_rows: ReadRows, defaults: list[Default]) -> None:
        self.book = book
        self.devices: dict[str, Interface] = {}
        self.networks: dict[str, Interface] = {}
        self._misnamed: list[Ref] = []
        rows, self._folded = of_ports([row for row in read_rows.get("interface", []) if not row.get("inactive")])
        for row in rows:
            self._take(row)
        for row in read_rows.get("vlan", []):
            if not LAYER3.isdisjoint(row.values) and not row.get("inactive"):
                self._of_vlans(row)
        self._bridges_of_networks()
        for interface in self.all() if defaults else ():
            apply_defaults(defaults, interface.kind, interface.values)
        self._link()

    def all(self) -> Iterator[Interface]:
        """Yield every interface, networks last."""
        yield from self.devices.values()
        yield from self.networks.values()

    def unknown(self) -> list[Ref]:
        """Return the lines with names that no interface can have: its own, and those of others that it hangs on."""
        hanging = ((interface, name) for interface in self.all() for name in ("parent", "bridge", "bundle"))
        others = [i.at(name) for i, name in hanging if i.get(name) and self.book.tell(i.get(name))[0] == IMPOSSIBLE]
        return [*self._misnamed, *(ref for refs in others for ref in refs)]

    def _take(self, row: ReadRow) -> None:
        text = row.get("name") or row.get("alias")
        if not text:
            return
        kind = row.get("kind", "")
        if kind == "network":
            self.networks.setdefault(text, Interface(text, kind, row.head)).take(row)
            return
        try:
            names = self.book.names(text)
        except ValueError:
            self._misnamed += row.at("name" if "name" in row.values else "alias")
            return
        for name in names:
            interface = self._device(name, row.head)
            interface.take(row)
            if kind:
                interface.kind = kind

    def _of_vlans(self, row: ReadRow) -> None:
        """Take what a VLAN's own row says of its layer-3 interface, which has no other name."""
        for vid in row.get("vlan_ids", ()):
            name = f"vlan {vid}"
            interface = self.devices.setdefault(name, Interface(name, "vlan", row.head))
            interface.values["vid"] = str(vid)
            interface.take(row, only=LAYER3 | {"disabled"})

    def _device(self, name: str, head: Ref) -> Interface:
        interface = self.devices.get(name)
        if interface is None:
            kind, parts = self.book.tell(name)
            interface = self.devices[name] = Interface(name, kind, head)
            interface.values.update(parts)
        return interface

    def _bridges_of_networks(self) -> None:
        """A network that is declared as a bridge of several devices gets a bridge of its own to lie on."""
        for network in self.networks.values():
            members = network.get("members", [])
            if network.get("bridged"):
                bridge = self._device(f"br-{network.name}", network.head)
                bridge.kind = "bridge"
                bridge.values["members"] = members
                network.values["parent"] = bridge.name
            elif members and not network.get("parent"):
                network.values["parent"] = members[0]

    def _link(self) -> None:
        self.children: dict[str, list[Interface]] = {}
        self.bridge_of: dict[str, str] = {}
        self.bundled: set[str] = set()
        self.members_off: set[str] = set()
        for interface in list(self.devices.values()):
            name = interface.get("bundle", "")
            bundle = self.device(name) if name and self.book.tell(name)[0] == "bundle" else self.devices.get(name)
            if bundle and bundle.kind == "bundle":
                bundle.values["members"] = [*bundle.get("members", ()), interface.name]
        linked = dict.fromkeys(i for i in self.all() if not i.values.keys().isdisjoint(_LINKS))
        waiting = list(linked)
        while waiting:
            interface = waiting.pop()
            linked[interface] = None
            bridge = interface.get("bridge", "")
            named = bridge if self.book.tell(bridge)[0] == "bridge" else ""
            mentioned = (name for name in (interface.get("parent"), named, *interface.get("members", ())) if name)
            waiting += [self.device(name) for name in mentioned if not name.startswith("@") and not self._has(name)]
        self._bridges = {i.get("bridge_id"): i.name for i in linked if i.get("bridge_id")}
        for interface in linked:
            values = interface.values
            if values.get("vlan_tag") and values.get("parent"):
                self.children.setdefault(self.book.canonical(values["parent"]), []).append(interface)
            if interface.kind == "bridge":
                for member in values.get("members", ()):
                    self.bridge_of.setdefault(member, interface.name)
            if interface.kind == "bundle" and values.get("members"):
                self._bundle(interface, values["members"])
        for interface in linked:
            bridge = interface.get("bridge")
            if bridge:
                self.bridge_of[interface.name] = self._bridges.get(bridge, bridge)

    def _bundle(self, bundle: Interface, members: list[str]) -> None:
        """A bundle is off where all its ports are."""
        ports = [self.device(name) for name in members]
        self.bundled.update(port.name for port in ports)
        if not any(port.enabled for port in ports):
            if bundle.enabled:
                self.members_off.add(bundle.name)
            bundle.values["disabled"] = True

    def bundle_of(self, port: Interface) -> Interface | None:
        """Return the bundle that a port is in: it carries what the bundle carries, whatever its own lines say."""
        bundle = self.devices.get(port.get("bundle", ""))
        return bundle if bundle and bundle.kind == "bundle" else None

    def relay(self, read_rows: list[ReadRow]) -> None:
        """Have those that relay for the whole device do so, but for one that a server itself is on."""
        servers = [row for row in read_rows if row.get("relay_to") and not row.get("inactive")]
        for interface in self.all():
            if interface.get("relays"):
                for row in servers:
                    interface.take(row, only=("relay_to",))
                fixed = [IPv4Interface(a).network for a in interface.get("addresses", ()) if a[0].isdecimal()]
                away = [s for s in interface.get("relay_to", ()) if not any(ip_address(s) in net for net in fixed)]
                interface.values["relay_to"] = away

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
        parent = interface.get("parent", "")
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
