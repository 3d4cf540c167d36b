"""Layer-3 interfaces: their addresses, what they lie on, in which prefix they serve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, lru_cache
from ipaddress import IPv4Address, IPv4Interface, IPv4Network

from auditor.core.state import Setting
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Refs
from auditor.topology.interfaces import IPV4, Interface, Interfaces
from auditor.topology.layer2 import Layer2
from auditor.topology.system import DEFAULT_VRF
from auditor.topology.zones import Zones

LEASED = ("dhcp", "pppoe")
ADDRESS: tuple[FieldName, ...] = ("method", "addresses")
ADDRESSED = Interface.fields(*ADDRESS)


def switched(interface: Interface) -> bool:
    """Return whether an interface is a port that switches, and so has no use for addresses."""
    return interface.layer2 and not interface.routed


def own_addresses(interface: Interface) -> list[str]:
    """Return an interface's addresses with their prefix length; ``dhcp`` or ``pppoe`` where they are leased."""
    if not (interface.addresses or interface.method) or switched(interface):
        return []
    method = interface.method.lower()
    if method in LEASED:
        return [method]
    if method == "none":
        return []
    netmask = interface.netmask
    return [_masked(address, netmask) if netmask else address for address in interface.addresses]


def own_networks(interface: Interface) -> list[IPv4Network]:
    """Return the networks of an interface's addresses, but for one that is leased."""
    return [IPv4Interface(address).network for address in own_addresses(interface) if address not in LEASED]


@lru_cache(maxsize=4096)
def _masked(address: str, netmask: str) -> str:
    if address in LEASED or not address.endswith("/32"):
        return address
    return str(IPv4Interface(f"{address.removesuffix('/32')}/{netmask}"))


class Layer3:
    """Knows addresses: which interface has them, whether it is up, in which prefix it serves."""

    def __init__(self, interfaces: Interfaces, layer2: Layer2, zones: Zones) -> None:
        self._interfaces = interfaces
        self._layer2 = layer2
        self._zones = zones

    @cached_property
    def addressed(self) -> list[Interface]:
        """The interfaces that have addresses, get them from elsewhere, or share some."""
        return [i for i in self._interfaces.all() if i.addresses or i.method or i.shared_addresses]

    @cached_property
    def fixed(self) -> list[tuple[Interface, IPv4Interface]]:
        """All addresses that are not leased, with their interfaces."""
        every = ((interface, a) for interface in self.addressed for a in own_addresses(interface))
        return [(interface, IPv4Interface(address)) for interface, address in every if address not in LEASED]

    @cached_property
    def leased(self) -> list[Interface]:
        """The interfaces whose addresses a carrier tells, as far as they are switched on."""
        return [i for i in self.addressed if i.enabled and not {*own_addresses(i)}.isdisjoint(LEASED)]

    @cached_property
    def vrfs(self) -> dict[str, str]:
        """By address the VRF that it is in, where that is not the one of everything else."""
        apart = [interface for interface in self.addressed if interface.vrf and self.up(interface)]
        return {a.partition("/")[0]: interface.vrf for interface in apart for a in own_addresses(interface)}

    @cached_property
    def vrf_of(self) -> dict[Setting, str]:
        """By gateway and uplink, as settings without a field, the VRF, where that is not the one of everything else."""
        found = {}
        for interface in self._interfaces.all():
            if interface.vrf and self.up(interface):
                vid, port = self._layer2.vlan_of(interface), self.port_below(interface)
                if vid is not None:
                    found[Setting("gateways", str(vid))] = interface.vrf
                elif port:
                    found[Setting("uplinks", port.name)] = interface.vrf
        return found

    def reaches(self, vrf: str, server: str) -> bool:
        """Return whether a server may be reached from a VRF: it is in no subnet that another VRF alone has."""
        if not self.vrfs or not IPV4.fullmatch(server):
            return True
        return self.is_in(IPv4Network(server), vrf)

    def is_in(self, net: IPv4Network, vrf: str) -> bool:
        """Return whether a prefix, or the one that it is in, is that of an interface of a VRF, or of none at all."""
        vrfs = {i.vrf or DEFAULT_VRF for i, own in self.fixed if own.network.overlaps(net) and self.up(i)}
        return not vrfs or (vrf or DEFAULT_VRF) in vrfs

    def is_beside(self, vrf: str, server: str) -> bool:
        """Return whether a server is on a network of an interface in a VRF."""
        if not IPV4.fullmatch(server):
            return False
        return any(i.vrf == vrf and IPv4Address(server) in own.network and self.up(i) for i, own in self.fixed)

    def vrf_in(self, net: IPv4Network) -> str | None:
        """Return the VRF of the interface with an address in a prefix; ``None`` where there is none."""
        return next((i.vrf for i, own in self.fixed if own.ip in net and self.up(i)), None)

    @cached_property
    def own(self) -> frozenset[str]:
        """The device's own addresses, without their length, and those that it shares."""
        found = [a for i in self.addressed if self.up(i) for a in (*own_addresses(i), *i.shared_addresses)]
        return frozenset(address.partition("/")[0] for address in found)

    def up(self, interface: Interface) -> bool:
        """Return whether an interface and the one it lies on are switched on; nothing lies on a switched port."""
        below = self._interfaces.below(interface)
        return interface.enabled and (below is None or (below.enabled and not switched(below)))

    def port_below(self, interface: Interface) -> Interface | None:
        """Return the port that an uplink leaves by: itself, or what it lies on if that is in no bridge."""
        for _ in range(8):
            if self._interfaces.bridge_of.get(interface.name) or interface.kind == "bridge" or interface.vid:
                return None
            if not interface.parent:
                return interface
            below = self._interfaces.below(interface)
            if below is None:
                return None
            interface = below
        return None

    def is_up(self, name: str) -> bool:
        """Return whether the interface or network of a name is on, as far as the capture has it."""
        interface = self._interfaces.find(name)
        return interface is None or self.up(interface)

    def uplink_works(self, interface: Interface, method: str) -> bool:
        """Return whether an interface can get an address by a method: what it leases or dials comes in there."""
        below = self._interfaces.below(interface)
        if interface.session and not (below and below.dialled):
            return False
        return self._zones.pass_by(interface) and (method != "dhcp" or self.asked_for_dhcp(interface))

    def asked_for_dhcp(self, interface: Interface) -> bool:
        """Return whether DHCP messages come in by an interface."""
        return self._zones.let_in(interface, "dhcp", "bootp")

    def offered_at(self, address: str, offered: Mapping[str, Sequence[str]]) -> set[str]:
        """Return those of some services that are let in at one of the device's own addresses.

        ``offered``: by service, the interfaces by which alone it is offered; none where that is any.
        """
        found = [i for i in self.addressed if address in (a.partition("/")[0] for a in own_addresses(i))]
        said = any(i.says("lets_in") and self.up(i) for i in self._interfaces.all())
        there = {
            name
            for name, only in offered.items()
            for i in found
            if (name in i.lets_in or not said)
            and self._zones.let_in(i, name)
            and (not only or i.name in map(self._interfaces.spelt, only))
        }
        return there if found else set(offered)

    def serves_dhcp(self, net: IPv4Network, *, everywhere: bool) -> bool:
        """Return whether an interface with an address in a prefix serves DHCP; so it is where there is none.

        ``everywhere``: it is served whatever interfaces say, where requests come in.
        """
        found = self.interfaces_in(net)
        return not found or any((everywhere or i.dhcp_server) and self.asked_for_dhcp(i) for i in found)

    def own_in(self, net: IPv4Network) -> IPv4Interface | None:
        """Return an interface's own address in a prefix."""
        return next((own for _, own in self.fixed if own.network == net), None)

    def interfaces_in(self, net: IPv4Network) -> list[Interface]:
        """Return the interfaces with an own address in a prefix that are on."""
        return [i for i, own in self.fixed if own.ip in net and self.up(i)]

    def net_of(self, address: IPv4Address) -> IPv4Network | None:
        """Return the prefix of an interface's own address that another address is in."""
        return next((own.network for _, own in self.fixed if address in own.network), None)

    def lines_of_address(self, name: str) -> Refs:
        """Return the lines of an interface's address."""
        interface = self._interfaces.find(name)
        return interface.at(*ADDRESS) if interface else ()

    def prefix_of(self, name: str) -> IPv4Interface | None:
        """Return the address with its prefix of the interface or network of a name; ``None`` without a fixed one.

        A bridge also answers with the address of a member, a shared interface with that of what it lies on.
        """
        interface = self._interfaces.find(name)
        if interface is None:
            return None
        others = self._interfaces.members(interface.name) if interface.kind == "bridge" else []
        below = self._interfaces.below(interface)
        if below and interface.kind == "shared":
            others = [below]
        fixed = [a for each in (interface, *others) for a in own_addresses(each) if a not in LEASED]
        return IPv4Interface(fixed[0]) if fixed else None
