"""Layer-3 interfaces: their addresses, what they lie on, in which prefix they serve."""

from __future__ import annotations

from functools import cached_property
from ipaddress import IPv4Address, IPv4Interface, IPv4Network

from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Refs
from auditor.topology.interfaces import Interface, Interfaces
from auditor.topology.layer2 import Layer2

LEASED = ("dhcp", "pppoe")
ADDRESS: tuple[FieldName, ...] = ("method", "addresses")
ADDRESSED = Interface.fields(*ADDRESS)


def own_addresses(interface: Interface) -> list[str]:
    """Return an interface's addresses with their prefix length; ``dhcp`` or ``pppoe`` where they are leased."""
    method = interface.method.lower()
    if method in LEASED:
        return [method]
    if method == "none":
        return []
    netmask = interface.netmask
    return [_masked(address, netmask) if netmask else address for address in interface.addresses]


def _masked(address: str, netmask: str) -> str:
    if address in LEASED or not address.endswith("/32"):
        return address
    return str(IPv4Interface(f"{address.removesuffix('/32')}/{netmask}"))


class Layer3:
    """Knows addresses: which interface has them, whether it is up, in which prefix it serves."""

    def __init__(self, interfaces: Interfaces, layer2: Layer2) -> None:
        self._interfaces = interfaces
        self._layer2 = layer2

    @cached_property
    def vrfs(self) -> dict[str, str]:
        """By address the VRF that it is in, where that is not the one of everything else."""
        apart = [interface for interface in self._interfaces.all() if interface.vrf and self.up(interface)]
        return {a.partition("/")[0]: interface.vrf for interface in apart for a in own_addresses(interface)}

    def up(self, interface: Interface) -> bool:
        """Return whether an interface and the one it lies on are switched on."""
        below = self._interfaces.below(interface)
        return interface.enabled and (below is None or below.enabled)

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

    def serves_dhcp(self, net: IPv4Network) -> bool:
        """Return whether an interface with an address in a prefix serves DHCP; so it is where there is none."""
        fixed = (
            (interface, address)
            for interface in self._interfaces.all()
            for address in own_addresses(interface)
            if address not in LEASED
        )
        found = [i for i, address in fixed if IPv4Interface(address).ip in net and self.up(i)]
        return not found or any(interface.dhcp_server for interface in found)

    def net_of(self, address: IPv4Address) -> IPv4Network | None:
        """Return the prefix of an interface's own address that another address is in."""
        fixed = (IPv4Interface(a).network for i in self._interfaces.all() for a in own_addresses(i) if a not in LEASED)
        return next((net for net in fixed if address in net), None)

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
