"""The layer-3 interfaces of VLANs: addresses, shared addresses, DHCP relays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, exposure, outage, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning, gateway_address
from auditor.core.domains import Domain, domain
from auditor.core.service import ServicePath
from auditor.core.state import Gateway, Setting
from auditor.reading.row_models.field_names import FieldName
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence
from auditor.topology.interfaces import Interface
from auditor.topology.layer3 import ADDRESS, ADDRESSED, own_addresses

_ASKED = ADDRESSED | Interface.fields("shared_addresses", "shared_groups", "relay_to")
"""What an interface says that a gateway is made of."""
_GROUPS: tuple[FieldName, ...] = ("shared_groups", "shared_on")


class GatewaysArea(Area):
    """A device has an address in each subnet that it routes, and its own in the one that it is managed in."""

    name = "gateways"
    on_paths = ("addresses", "shared_addresses", "relay_to")
    tells_who_loses = True
    told_by: ClassVar[Mapping[str, str]] = {
        "addresses": "interface.addresses vlan.addresses",
        "shared_addresses": "interface.shared_addresses interface.shared_groups vlan.shared_addresses "
        "interface.kind=shared",
        "relay_to": "interface.relay_to interface.relays relay.relay_to vlan.relay_to",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "unplanned": "{device} answers at an address in {net}; the plan has no such address",
        "relay unplanned": "{device} relays DHCP requests from {net}, but no relay is planned",
        "no relay": "clients in {net} get no address: their DHCP requests are not relayed as planned",
        "more": "{device} has more addresses in {net} than planned",
        "no gateway": "clients in {net} do not reach their gateway on {device}",
        "not managed": "{device} does not have its planned address in {net}: it cannot be managed there",
    }

    def planned(self, planning: Planning) -> dict[int, Gateway]:
        """Return the addresses of the subnets that it routes, and the device's own."""
        addresses: dict[int, set[str]] = {}
        shared: dict[int, tuple[str, ...]] = {}
        relay: dict[int, tuple[str, ...]] = {}
        for name, subnet in planning.routed.items():
            vid = planning.vid(name)
            addresses[vid] = {f"{gateway_address(subnet)}/{subnet.prefix.prefixlen}"}
            shared[vid] = (str(subnet.gateway.shared),) if subnet.gateway.shared else ()
            relay[vid] = tuple(sorted(str(server) for server in subnet.dhcp.relay)) if subnet.dhcp else ()
        own = planning.device.address
        for name, subnet in planning.subnets.items():
            if own and own in subnet.prefix:
                addresses.setdefault(planning.vid(name), set()).add(f"{own}/{subnet.prefix.prefixlen}")
        return {
            vid: Gateway(
                addresses=tuple(sorted(found)), shared_addresses=shared.get(vid, ()), relay_to=relay.get(vid, ())
            )
            for vid, found in addresses.items()
        }

    def observed(self, seen: Observation) -> dict[Domain, Gateway]:
        """Return the layer-3 interfaces of VLANs; whether the device routes at all is evidence of each."""
        found, seen.gateways_of_ports = _observed(seen.topology, seen.evidence)
        for vid in found:
            seen.evidence.note(self.name, vid, seen.topology.system, {"": ("routing", "managed_in")})
        return found

    def align(self, pair: Pair) -> None:
        """A layer-3 interface that leads nowhere counts as absent; so does a planned gateway that is not routed.

        Between VRFs nothing is.
        """
        gateways = pair.observed.gateways
        useless = {vid for vid in gateways if Setting(self.name, str(vid)) in pair.reading.ineffective}
        useless |= {domain(item.key) for item in pair.apart() if item.area == self.name}
        if not pair.reading.routing_in(pair.vrf):
            useless |= pair.expected.routed
        if pair.reading.managed_in is not None:
            useless |= pair.expected.routed & {pair.reading.managed_in}
        if useless:
            pair.observe(gateways={vid: gateway for vid, gateway in gateways.items() if vid not in useless})

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:
        """What is in a VLAN of the carrier is the carrier's; a device of no planned address may have one all the same.

        That is the address by which it is managed, and which the plan leaves unsaid.
        """
        found = {key: item for key, item in items.items() if domain(key) not in pair.carrier_vlans}
        planned = {str(vid) for vid in pair.expected.state.vlans}
        left_unsaid = pair.expected.address is None and len(found) == 1 and found.keys() <= planned
        return {} if left_unsaid else found

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Clients lose their gateway, or the device answers where it should not."""
        device, vid = seen.device, domain(m.setting.key)
        net, subnet = seen.names.net(vid), seen.names.subnet(vid)
        if m.kind == "unplanned" and not m.setting.field:
            return exposure("unplanned", device=device, net=net)
        if m.setting.field == "relay_to":
            if m.kind == "unplanned":
                return upkeep("relay unplanned", device=device, net=net)
            return outage("no relay", net=net)
        if m.kind == "unplanned" or (m.setting.field and set(m.expected or ()) < set(m.observed or ())):
            return upkeep("more", device=device, net=net)
        if subnet is not None and seen.names.plan.gateway_of(subnet[1]) == device:
            return outage("no gateway", net=net, device=device)
        return outage("not managed", device=device, net=net)

    def serves(self, setting: Setting, device: str, path: ServicePath) -> bool:
        """A path ends at the gateway of its VLAN."""
        return path.gateway_device == device and setting.key == str(path.vlan)


def _relays(interface: Interface, addresses: Sequence[str]) -> bool:
    """Return whether a server knows by a relay's address from which network requests come."""
    own = {address.partition("/")[0] for address in addresses}
    return not interface.relay_from or interface.relay_from in own


def _observed(topology: Topology, evidence: Evidence) -> tuple[dict[Domain, Gateway], dict[str, Gateway]]:
    """Return the domains' layer-3 interfaces that are on and have an address or relay; and ports that are in none."""
    interfaces, layer2, layer3, unused = topology.interfaces, topology.layer2, topology.layer3, topology.system.unused()
    parts: dict[tuple[Domain | None, str], dict[FieldName, list[str]]] = {}
    for interface in interfaces.all():
        if not interface.says_any(_ASKED):
            continue
        vid = layer2.vlan_of(interface)
        addresses = own_addresses(interface)
        port = layer3.port_below(interface) if vid is None and not interface.vlan_tag else None
        if (vid is None and port is None) or not layer3.up(interface) or addresses == ["pppoe"]:
            continue
        if interface.kind == "bridge" and layer2.lonely(interface):
            continue
        asked = layer3.asked_for_dhcp(interface)
        shares = topology.zones.takes_part(interface, "vrrp")
        closed = {"relay_to": asked, "shared_addresses": shares}
        if vid is not None:
            topology.blocked |= {Setting("gateways", str(vid), name) for name, is_open in closed.items() if not is_open}
        relays = interface.relay_to if interface.relay_used and asked and _relays(interface, addresses) else ()
        told: dict[FieldName, Sequence[str]] = {
            "shared_addresses" if interface.kind == "shared" else "addresses": addresses,
            "relay_to": [server for server in relays if layer3.reaches(interface.vrf, server)],
        }
        if interface.shared_addresses and interface.shared_used and shares:
            told["shared_addresses"] = interface.shared_addresses
        if interface.shared_groups:
            told["shared_addresses"] = [a for group, a in interface.shared_groups if group in interface.shared_on]
        for name, values in told.items():
            if values and name not in unused:
                place = (vid, port.name if port else "")
                part = parts.setdefault(place, {"addresses": [], "shared_addresses": [], "relay_to": []})
                part[name].extend(values)
                if vid is None:
                    continue
                values_read = (
                    (name,) if interface.says(name) else _GROUPS if interface.says("shared_groups") else ADDRESS
                )
                evidence.note("gateways", vid, interface, {"": ("vrf",)})
                evidence.note("gateways", vid, interface, {"": values_read, name: values_read})
    found = {place: _gateway(told) for place, told in parts.items()}
    own = {name: gateway for (vid, name), gateway in found.items() if vid is None}
    return {vid: gateway for (vid, _), gateway in found.items() if vid is not None}, own


def _gateway(told: Mapping[FieldName, Sequence[str]]) -> Gateway:
    shared = {address.partition("/")[0] for address in told["shared_addresses"]}
    return Gateway(
        addresses=tuple(sorted(set(told["addresses"]))),
        shared_addresses=tuple(sorted(shared)),
        relay_to=tuple(sorted(set(told["relay_to"]))),
    )
