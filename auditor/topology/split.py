"""VLANs of one number on several bridges: each bridge keeps VLANs of its own, and nothing passes between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from auditor.core.state import Setting
from auditor.reading.row_models.wifi import WifiRow
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.interfaces import PORT_KINDS, Interface
from auditor.topology.layer2 import UNNUMBERED
from auditor.topology.layer3 import own_addresses

_APART = (
    "Another bridge has the same VLAN here, and each bridge keeps its VLANs to itself: check which one this belongs on"
)
_UNTAGGED, _TAGGED = Setting("ports", field="untagged"), Setting("ports", field="tagged")


@dataclass(slots=True)
class _Part:
    """What a bridge has of a VLAN: ports, untagged or tagged, Wi-Fi names, and layer-3 interfaces."""

    untagged: list[Interface] = field(default_factory=list)
    tagged: list[Interface] = field(default_factory=list)
    names: list[WifiRow] = field(default_factory=list)
    gateways: list[Interface] = field(default_factory=list)

    @property
    def weight(self) -> tuple[int, int, int]:
        """How much of the VLAN it is."""
        return len(self.untagged) + len(self.tagged), len(self.gateways), len(self.names)


def split(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines that put something into a VLAN of a bridge, where more of the VLAN is on another bridge."""
    filtering = {
        name
        for name, bridge in topology.interfaces.devices.items()
        if bridge.kind == "bridge" and topology.layer2.aware(bridge) and not topology.layer2.lonely(bridge)
    }
    if len(filtering) < 2:
        return
    vlans: dict[int, dict[str, _Part]] = defaultdict(lambda: defaultdict(_Part))
    for name in filtering:
        for member in topology.interfaces.members(name):
            _add_member(topology, member, name, vlans)
    for interface in topology.interfaces.all():
        bridge, vid = _bridge_below(topology, interface), topology.layer2.vlan_of(interface)
        if bridge in filtering and isinstance(vid, int) and own_addresses(interface):
            vlans[vid][bridge].gateways.append(interface)
    for row in topology.wifi.rows:
        for bridge, vid in _from_the_air(topology, row) if not row.disabled else ():
            if bridge in filtering:
                vlans[vid][bridge].names.append(row)
    for vid, parts in vlans.items():
        most = max(parts, key=lambda name: parts[name].weight)
        for name in parts.keys() - {most}:
            yield from _told(topology, vid, parts[name])


def _add_member(topology: Topology, member: Interface, bridge: str, vlans: dict[int, dict[str, _Part]]) -> None:
    """Add a port of a bridge to the VLANs that it is in."""
    untagged, tagged = topology.layer2.bridged(member)
    by_default = untagged == UNNUMBERED and bool(tagged) and not member.untagged_vlan
    for vid in tagged if member.kind in PORT_KINDS else ():
        vlans[vid][bridge].tagged.append(member)
    if isinstance(untagged, int) and member.kind in PORT_KINDS and not by_default:
        vlans[untagged][bridge].untagged.append(member)


def _from_the_air(topology: Topology, row: WifiRow) -> Iterator[tuple[str, int]]:
    """Yield bridge and VLAN of what clients of a Wi-Fi name send: of its networks, by its tag, or untagged."""
    layer2, interfaces = topology.layer2, topology.interfaces
    for network in (interfaces.networks.get(name) for name in row.network):
        vid = layer2.vlan_of(network) if network else None
        if network and isinstance(vid, int):
            yield _bridge_below(topology, network), vid
    bridge = row.bridge or interfaces.bridge_of.get(row.interface, "")
    untagged = layer2.bridged(interfaces.devices[row.interface])[0] if row.interface in interfaces.devices else None
    vid = int(row.vlan) if row.vlan.isdecimal() and row.vlan_used else untagged
    if bridge and isinstance(vid, int):
        yield bridge, vid


def _bridge_below(topology: Topology, interface: Interface) -> str:
    """Return the bridge that an interface is, or lies on."""
    below: Interface | None = interface
    for _ in range(8):
        if below is None or below.kind == "bridge":
            break
        below = topology.interfaces.below(below)
    return below.name if below else ""


def _told(topology: Topology, vid: int, part: _Part) -> Iterator[tuple[Ref, Bearing]]:
    for ports, place in ((part.untagged, _UNTAGGED), (part.tagged, _TAGGED)):
        for port in ports:
            bearing = Bearing(_APART, (place,), key=port.name, contradicts=True)
            yield from ((ref, bearing) for ref in topology.layer2.lines_of_bridged(port) or (port.head,))
    for row in part.names:
        bearing = Bearing(_APART, (Setting("ssids", field="vlan"),), key=row.ssid, contradicts=True)
        yield from ((ref, bearing) for ref in row.at("bridge"))
    for interface in part.gateways:
        bearing = Bearing(_APART, (Setting("gateways"),), key=str(vid), contradicts=True)
        yield from ((ref, bearing) for ref in interface.at("parent"))
