"""What stands in the way of a service though each of its settings is as it should be: answers that nobody lets pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from auditor.core.addresses import network_key
from auditor.core.state import DhcpScope, Setting
from auditor.core.values import allowed_vlans
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Bearing, Ref
from auditor.topology.aggregation import aggregations
from auditor.topology.device import Topology
from auditor.topology.interfaces import PORT_KINDS, Interface
from auditor.topology.layer3 import own_addresses, own_networks
from auditor.topology.pvids import beside_pvid, only_leaving
from auditor.topology.resolver import unanswered

_UNTRUSTED = (
    "DHCP is snooped on this bridge and no port of it is trusted, so servers behind its ports cannot answer: "
    "check which port leads to the server"
)
_OFF = "This bridge is off, so nothing passes between its ports: check whether it is in use"
_JOINS = "This radio joins another network instead of broadcasting one: check what it is for"
_BESIDE = "A port sends a VLAN untagged that untagged frames do not enter by it: check its PVID"
_LEAVES = "A VLAN leaves this port tagged and does not enter by it so: check how its neighbour sends that VLAN"
_TAKEN = "A VLAN interface on this port takes that VLAN's frames away from the bridge: check which one is meant"
_ON_MEMBER = (
    "This address is on a port of a bridge, where those behind its other ports do not reach it: "
    "check whether it belongs on the bridge"
)
_TWO_CHANNELS = "Names on one radio have different channels, and some are not broadcast: check which radio each is on"
_MIXED = "Ports of one bundle are told different ways to form it, so some of them are left out: make them alike"
_OUTSIDE = "This login is offered on the carrier's side alone: check who is meant to reach it"
_CARRIERS = "The carrier's DNS servers are asked as well: check whether they may be"
_NO_TAG = "A unit other than 0 gets the frames of its VLAN tag, and this one has none: check which unit is meant"
_TWICE = "The same addresses are on another interface, too, so answers may go there: check which of the two has them"
_UNLIKE = "This port is taken out of its bundle, whose VLAN lines are others: give both the same lines"
_NOT_ALLOWED = "The VLAN of phones is not in this list: check whether phones reach it by this port"
_BOTH = "DHCP is both served and relayed here, and the device does one of the two: check which one"
_ALIKE = Interface.fields("access_vlan", "native_vlan", "allowed_vlans", "voice_vlan")
"""The values of ports in a bundle that have to be those of the bundle, beside their mode."""
_OF_MODE: dict[str, tuple[FieldName, ...]] = {
    "trunk": ("native_vlan", "allowed_vlans"),
    "access": ("access_vlan", "voice_vlan"),
}
"""Those of them that count in a mode."""
_BEHIND_PORTS = (Setting("ssids", field="vlan"), Setting("ports", field="untagged"), Setting("ports", field="tagged"))


def hindered(
    topology: Topology, scopes: Mapping[str, DhcpScope], lines: Callable[[Setting], list[Ref]]
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which answers do not reach those who ask, with what they bear on.

    ``scopes``: what is served; ``lines``: where a setting was read.
    """
    for bridge in topology.interfaces.devices.values():
        if bridge.kind != "bridge":
            continue
        # One with a number is the device's own interface there: what is bridged goes on without it.
        if not bridge.enabled and not bridge.bridge_id and topology.interfaces.members(bridge.name):
            yield from _behind_what_is_off(topology, bridge)
        elif bridge.snooping and _asks_outside(topology, bridge):
            yield from ((ref, Bearing(_UNTRUSTED, _BEHIND_PORTS)) for ref in bridge.at("snooping"))
    yield from _unlike_members(topology)
    for interface in topology.interfaces.all():
        vid = topology.layer2.vlan_of(interface) if interface.dhcp_server and interface.relay_to else None
        if vid is not None and not any(network_key(net) in scopes for net in own_networks(interface)):
            bearing = Bearing(_BOTH, (Setting("gateways", field="relay_to"),), key=str(vid))
            yield from ((ref, bearing) for ref in interface.at("dhcp_server"))
    for port in topology.ports:
        if port.mode == "phone" and port.phone_vlan and port.says("allowed_vlans"):
            bearing = Bearing(_NOT_ALLOWED, (Setting("ports", field="voice"),), key=port.name)
            left_out = int(port.phone_vlan) not in allowed_vlans(port.allowed_vlans)
            yield from ((ref, bearing) for ref in (port.at("allowed_vlans") if left_out else ()))
        beside = beside_pvid(topology.layer2, port)
        yield from ((ref, Bearing(_BESIDE, _BEHIND_PORTS[1:])) for ref in beside)
        leaving = only_leaving(topology.layer2, port)
        yield from ((ref, Bearing(_LEAVES, _BEHIND_PORTS[1:2], key=port.name)) for ref in leaving)
        yield from _taken_away(topology, port)
    if topology.platform.bridging.empty_bridges:
        yield from _on_members(topology)
    for name, made in aggregations(topology.interfaces).items():
        if made.mixed:
            yield from ((ref, Bearing(_MIXED, (Setting("ports", field="enabled"),), key=name)) for ref in made.refs)
    for row in topology.wifi.rows:
        if row.mode == "station" and not row.disabled:
            yield from ((ref, Bearing(_JOINS, (Setting("ssids", field="enabled"),))) for ref in row.refs("mode"))
        others = (other for other in topology.wifi.rows if other.device == row.device and not other.disabled)
        if row.device and row.band and not row.disabled and any(o.band and o.band != row.band for o in others):
            on = (Setting("ssids", field="enabled"),)
            yield from ((ref, Bearing(_TWO_CHANNELS, on, key=row.ssid)) for ref in row.refs("device"))
    yield from _in_two_places(topology)
    yield from _by_carriers(topology)
    yield from _without_tag(topology)
    yield from unanswered(topology, scopes, lines)


def _behind_what_is_off(topology: Topology, bridge: Interface) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which a bridge is off, with each port and Wi-Fi name that is on it."""
    on_it = {member.name for member in topology.interfaces.members(bridge.name)}
    names = {row.ssid for row in topology.wifi.rows if row.bridge == bridge.name or row.interface in on_it}
    behind = [Bearing(_OFF, _BEHIND_PORTS[1:], key=name) for name in sorted(on_it)]
    behind += [Bearing(_OFF, _BEHIND_PORTS[:1], key=name) for name in sorted(names)]
    yield from ((ref, bearing) for ref in bridge.at("disabled") for bearing in behind)


def _without_tag(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield units of ports to which no frame comes: those of another number than 0 that have no tag of their own."""
    rows = topology.rows.interface
    tagged = {row.name for row in rows if row.vlan_tag}
    for row in rows:
        untagged = row.kind == "subinterface" and row.says("unit") and row.unit != "0" and row.name not in tagged
        if untagged and (row.switched or row.layer3) and not row.inactive:
            yield row.head, Bearing(_NO_TAG, (Setting("ports"), Setting("uplinks")), key=row.parent)


def _in_two_places(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the addresses of interfaces in no VLAN whose prefix a VLAN of the device has as well."""
    layer2, layer3 = topology.layer2, topology.layer3
    fixed = [(i, layer2.vlan_of(i), own) for i, own in layer3.fixed if layer3.up(i)]
    inside = [(vlan, i, own) for i, vlan, own in fixed if vlan is not None]
    for other, vlan, own in fixed:
        for inner, its, net in inside if vlan is None and own.network.prefixlen < 32 else ():
            if own.network == net.network and its.vrf == other.vrf:
                on, at = (Setting("gateways", str(inner)),), own_addresses(other).index(str(own))
                each = [*other.refs_of_each("addresses")]
                found = each[at : at + 1] if len(each) == len(own_addresses(other)) else other.at("addresses")
                yield from ((ref, Bearing(_TWICE, on, key=str(inner))) for ref in found)


def _taken_away(topology: Topology, port: Interface) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the VLAN interfaces on a port of a bridge that keeps VLANs apart, whose VLANs it lists there, too."""
    layer2, bridge = topology.layer2, topology.interfaces.bridge(port.name)
    if bridge and layer2.aware(bridge) and not topology.platform.bridging.members_first:
        for tag, (child, _) in layer2.tags_on(port.name).items():
            if tag in port.tagged_vlans:
                on = (Setting("ports", field="tagged"),)
                yield from ((ref, Bearing(_TAKEN, on, key=port.name)) for ref in child.at("vlan_tag"))


def _on_members(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the addresses of interfaces that are on a bridge together with others."""
    on = (Setting("gateways", field="addresses"),)
    for interface in topology.interfaces.devices.values():
        bridge = topology.interfaces.bridge(interface.name)
        if bridge and interface.enabled and len(topology.interfaces.members(bridge.name)) > 1:
            refs = interface.at("addresses") if own_addresses(interface) else ()
            yield from ((ref, Bearing(_ON_MEMBER, on)) for ref in refs)


def _unlike_members(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the VLAN lines of ports in bundles by which such a port leaves its bundle."""
    interfaces = topology.interfaces
    bundles = [each for each in interfaces.devices.values() if each.kind == "bundle"]
    for bundle in bundles if topology.platform.bridging.members_alike else ():
        members = [member for member in map(interfaces.device, bundle.members) if member.enabled]
        bearing = Bearing(_UNLIKE, (Setting("ports"),), key=bundle.name, contradicts=True)
        unlike = {member.name: _unlike(member, bundle) for member in members}
        # one of another mode goes alone, and what it is then is told of the port itself
        staying = any("mode" not in names for names in unlike.values())
        for member in members:
            names = [name for name in unlike[member.name] if name != "mode" or not staying]
            yield from ((ref, bearing) for name in names for ref in member.at(name))


def _unlike(member: Interface, bundle: Interface) -> list[FieldName]:
    """Return what a port in a bundle has otherwise than that; where it says no mode, it may leave out the rest, too."""
    if not member.refs("mode") or not bundle.refs("mode"):
        said = [name for name in _ALIKE if member.says(name) and bundle.says(name)]
        return [name for name in said if member.mode == bundle.mode and _value(member, name) != _value(bundle, name)]
    if member.mode != bundle.mode:
        return ["mode"]
    return [name for name in _OF_MODE.get(member.mode, ()) if _value(member, name) != _value(bundle, name)]


def _value(interface: Interface, name: FieldName) -> object:
    """Return what a port has of VLANs, as it is where nothing is said."""
    if name == "allowed_vlans":
        return allowed_vlans(interface.allowed_vlans)
    return interface.said.get(name, None if name == "voice_vlan" else "1")


def _by_carriers(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield what an uplink's side has a say in: names that are asked there, too, and logins offered there alone."""
    leased = topology.layer3.leased
    alone = any(row.upstream_alone for row in topology.rows.dhcp_network)
    fixed = topology.system.dns or any(interface.dns for interface in topology.interfaces.all())
    if not alone and fixed:
        for interface in leased:
            refs = interface.at("method") if interface.peer_dns else ()
            yield from ((ref, Bearing(_CARRIERS, (Setting("management", field="dns"),))) for ref in refs)
    uplinks = {interface.name for interface in leased if topology.layer3.port_below(interface)}
    for row in topology.rows.system:
        found = topology.interfaces.find(row.only_on) if row.only_on else None
        if found and found.name in uplinks:
            on = (Setting("management", field="logins"),)
            yield from ((ref, Bearing(_OUTSIDE, on)) for ref in row.refs("only_on"))


def _asks_outside(topology: Topology, bridge: Interface) -> bool:
    """Return whether no port of a bridge is trusted, and a VLAN of it has no server on this device."""
    members = topology.interfaces.members(bridge.name)
    if any(member.trusted and member.enabled and member.kind in PORT_KINDS for member in members):
        return False
    layer2 = topology.layer2
    vlans = {vlan for member in members for vlan in (layer2.bridged(member)[0], *layer2.bridged(member)[1]) if vlan}
    served = (topology.interfaces.find(row.interface) for row in topology.rows.dhcp_scope if not row.disabled)
    return not vlans <= {layer2.vlan_of(interface) for interface in served if interface}
