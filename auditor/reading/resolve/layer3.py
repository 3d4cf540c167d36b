"""Gateways and uplinks: the layer-3 interfaces of VLANs, and the ports that get their address from a carrier."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from ipaddress import IPv4Address, IPv4Interface, IPv4Network

from auditor.core.state import Gateway, Uplink
from auditor.reading.resolve.interfaces import Interface, Interfaces
from auditor.reading.resolve.layer2 import Layer2
from auditor.reading.resolve.read_rows import Evidence
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Refs

_LEASED = ("dhcp", "pppoe")
_ADDRESS: tuple[FieldName, ...] = ("method", "addresses")
_UPLINK = Interface.fields(*_ADDRESS)
_GATEWAY = _UPLINK | Interface.fields("shared_addresses", "relay_to")


def own_addresses(interface: Interface) -> list[str]:
    """Return an interface's addresses with their prefix length; ``dhcp`` or ``pppoe`` where they are leased."""
    method = interface.method.lower()
    if method in _LEASED:
        return [method]
    if method == "none":
        return []
    netmask = interface.netmask
    return [_masked(address, netmask) if netmask else address for address in interface.addresses]


def _masked(address: str, netmask: str) -> str:
    if address in _LEASED or not address.endswith("/32"):
        return address
    return str(IPv4Interface(f"{address.removesuffix('/32')}/{netmask}"))


class Layer3:
    """Builds ``gateways`` and ``uplinks``, and knows in which prefix an interface serves."""

    def __init__(self, interfaces: Interfaces, layer2: Layer2) -> None:
        self._interfaces = interfaces
        self._layer2 = layer2

    def gateways(self, evidence: Evidence, unused: Collection[str] = ()) -> dict[int, Gateway]:
        """Return the VLANs' layer-3 interfaces that are on and have an address or relay.

        ``unused``: fields that are set up and do nothing on this device.
        """
        parts: dict[int, dict[FieldName, list[str]]] = {}
        for interface in self._interfaces.all():
            if not interface.says_any(_GATEWAY):
                continue
            vid = self._layer2.vlan_of(interface)
            addresses = own_addresses(interface)
            if vid is None or not self.up(interface) or addresses == ["pppoe"]:
                continue
            if interface.kind == "bridge" and self._layer2.lonely(interface):
                continue
            told: dict[FieldName, Sequence[str]] = {
                "shared_addresses" if interface.kind == "shared" else "addresses": addresses,
                "relay_to": interface.relay_to if interface.relay_used else (),
            }
            if interface.shared_addresses and interface.shared_used:
                told["shared_addresses"] = interface.shared_addresses
            for name, values in told.items():
                if values and name not in unused:
                    part = parts.setdefault(vid, {"addresses": [], "shared_addresses": [], "relay_to": []})
                    part[name].extend(values)
                    values_read = (name,) if interface.says(name) else _ADDRESS
                    evidence.note("gateways", vid, interface, {"": ()})
                    evidence.note("gateways", vid, interface, {"": values_read, name: values_read})
        found = {}
        for vid, names in parts.items():
            addresses = sorted(set(names["addresses"]))
            shared = {address.partition("/")[0] for address in names["shared_addresses"]}
            found[vid] = Gateway(
                addresses=tuple(addresses),
                shared_addresses=tuple(sorted(shared)),
                relay_to=tuple(sorted(set(names["relay_to"]))),
            )
        return found

    def uplinks(self, evidence: Evidence) -> dict[str, Uplink]:
        """Return the ports that are no part of a VLAN and have an address: leased, or their own."""
        found: dict[str, Uplink] = {}
        for interface in self._interfaces.all():
            if not interface.says_any(_UPLINK):
                continue
            if not self.up(interface) or self._interfaces.bridge_of.get(interface.name):
                continue
            addresses = own_addresses(interface)
            port = self._port_below(interface)
            if not addresses or port is None or port.kind not in ("port", "bundle"):
                continue
            leased = next((address for address in addresses if address in _LEASED), None)
            below = self._interfaces.below(interface) if interface.kind == "network" else interface
            if leased is None and (below is not port or port.name in found):
                continue
            if leased:
                found[port.name] = Uplink.model_validate({"method": leased})
            else:
                found[port.name] = Uplink(method="static", address=addresses[0])
            evidence.note("uplinks", port.name, interface, {"": _ADDRESS})
        return found

    def vrfs(self) -> dict[str, str]:
        """Return by address the VRF that it is in, where that is not the one of everything else."""
        apart = [interface for interface in self._interfaces.all() if interface.vrf and self.up(interface)]
        return {a.partition("/")[0]: interface.vrf for interface in apart for a in own_addresses(interface)}

    def up(self, interface: Interface) -> bool:
        """Return whether an interface and the one it lies on are switched on."""
        below = self._interfaces.below(interface)
        return interface.enabled and (below is None or below.enabled)

    def _port_below(self, interface: Interface) -> Interface | None:
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
            if address not in _LEASED
        )
        found = [i for i, address in fixed if IPv4Interface(address).ip in net and self.up(i)]
        return not found or any(interface.dhcp_server for interface in found)

    def net_of(self, address: IPv4Address) -> IPv4Network | None:
        """Return the prefix of an interface's own address that another address is in."""
        fixed = (IPv4Interface(a).network for i in self._interfaces.all() for a in own_addresses(i) if a not in _LEASED)
        return next((net for net in fixed if address in net), None)

    def lines_of_address(self, name: str) -> Refs:
        """Return the lines of an interface's address."""
        interface = self._interfaces.find(name)
        return interface.at(*_ADDRESS) if interface else ()

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
        fixed = [a for each in (interface, *others) for a in own_addresses(each) if a not in _LEASED]
        return IPv4Interface(fixed[0]) if fixed else None
