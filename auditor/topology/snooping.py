"""DHCP snooping and what hangs on it: VLANs in which no port may answer, and ARP that nobody can prove."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from ipaddress import ip_address

from auditor.core.state import Port, Setting
from auditor.core.values import VlanSet
from auditor.reading.source import Bearing, Ref, Refs
from auditor.topology.device import Topology
from auditor.topology.interfaces import Interface, Interfaces
from auditor.topology.layer3 import own_networks

_UNTRUSTED = (
    "no port that carries VLAN {} is trusted, and DHCP is snooped there: servers behind ports cannot answer; "
    "check which port leads to the server"
)
_UNPROVEN = (
    "ARP in VLAN {} is checked against leases, and none are recorded there: check whether devices reach their gateway"
)


@dataclass(frozen=True, slots=True)
class Snooped:
    """What is snooped of DHCP on a device.

    Attributes:
        vlans: by VLAN the lines that say so.
        servers: by address the lines that allow a server; without any, all may answer.
        checked: by VLAN the lines that have ARP checked there.
        marks: requests get option 82 where they are snooped.
    """

    vlans: Mapping[int, Refs]
    servers: Mapping[str, Refs]
    checked: Mapping[int, Refs]
    marks: bool
    _interfaces: Interfaces
    _ports: Mapping[str, Port]
    _topology: Topology

    @property
    def used(self) -> bool:
        """Whether anything is snooped or checked."""
        return bool(self.vlans or self.checked)

    def carries(self, port: str, vid: int) -> bool:
        """Return whether a port was seen in a VLAN."""
        found = self._ports.get(port)
        return found is not None and vid in {*found.tagged, found.untagged, found.voice}

    def trusts(self, port: str) -> bool:
        """Return whether servers may answer by a port."""
        return self._interfaces.device(port).trusted

    def has_clients(self, vid: int, towards: set[str]) -> bool:
        """Return whether a VLAN has other ports than those towards its gateway, on which requests are looked at."""
        ports = (name for name, port in self._ports.items() if port.enabled and self.carries(name, vid))
        return any(name not in towards and not self._is_trusted(name) for name in ports)

    def drops_marked(self, port: str, vid: int) -> bool:
        """Return whether requests with option 82 are dropped on a port."""
        snooped = vid in self.vlans and self.carries(port, vid) and not self._topology.system.lets_in_marked
        return snooped and not self._is_trusted(port)

    def believes_marked(self, vid: int) -> bool:
        """Return whether the server or relay of a VLAN takes requests with option 82 and no address of a relay."""
        if self._topology.system.believes_marked:
            return True
        layer2 = self._topology.layer2
        homes = [i for i in self._interfaces.all() if i.addresses and layer2.vlan_of(i) == vid]
        return not homes or any(interface.believes_marked for interface in homes)

    def _is_trusted(self, port: str) -> bool:
        interface = self._interfaces.device(port)
        bundle = self._interfaces.bundle_of(interface)
        return interface.trusted or bool(bundle and bundle.trusted)

    def believes(self, port: str) -> bool:
        """Return whether ARP that comes in by a port is not checked."""
        return self._interfaces.device(port).arp_trusted


def snooped_in(topology: Topology, ports: Mapping[str, Port]) -> Snooped:
    """Return what is snooped; ``ports`` as observed."""
    found: dict[int, Refs] = {}
    for refs, vids in _snooping(topology) if topology.system.snooping else ():
        found.update((vid, (*found.get(vid, ()), *refs)) for vid in vids)
    for bridge in topology.interfaces.devices.values():
        if bridge.kind == "bridge" and bridge.snooping:
            inside = {member.name for member in topology.interfaces.members(bridge.name)}
            carried = [port for name, port in ports.items() if name in inside]
            inner = {vid for port in carried for vid in (*port.tagged, port.untagged) if isinstance(vid, int)}
            found.update((vid, (*found.get(vid, ()), *bridge.at("snooping"))) for vid in inner)
    servers: dict[str, Refs] = {}
    for row in topology.system.here:
        servers.update((server, (*servers.get(server, ()), *row.refs("dhcp_allowed"))) for server in row.dhcp_allowed)
    checked: dict[int, Refs] = {}
    for refs, vids in _checking(topology):
        checked.update((vid, (*checked.get(vid, ()), *refs)) for vid in vids)
    marks = topology.system.marks_requests
    return Snooped(found, servers, checked, marks, topology.interfaces, ports, topology)


def _snooping(topology: Topology) -> list[tuple[Refs, VlanSet]]:
    inside = [row for row in topology.rows.vlan if not row.inactive]
    rows = [(row.refs("snooped_vlans"), row.snooped_vlans) for row in topology.system.here]
    return rows + [(row.refs("snooped"), row.vids) for row in inside if row.snooped]


def _checking(topology: Topology) -> list[tuple[Refs, VlanSet]]:
    if not topology.system.checks_arp:
        return []
    inside = [row for row in topology.rows.vlan if not row.inactive]
    rows = [(row.refs("arp_checked_vlans"), row.arp_checked_vlans) for row in topology.system.here]
    return rows + [(row.refs("arp_checked"), row.vids) for row in inside if row.arp_checked]


def starved(topology: Topology, ports: Mapping[str, Port]) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which DHCP or ARP does not pass in a VLAN, with what they bear on; ``ports`` as observed."""
    system = topology.system
    snooping, checking = _snooping(topology), _checking(topology)
    snooped = VlanSet({vid for _, vids in snooping for vid in vids} if system.snooping else ())
    checked = VlanSet({vid for _, vids in checking for vid in vids} - snooped)
    if not snooped and not checked:
        return
    carrying = _carrying(topology, ports, VlanSet(snooped | checked))
    own = _own(topology)
    silent = {
        vid
        for vid in snooped & carrying.keys()
        if _asks_outside(vid, own) and not any(trusted for trusted, _ in carrying[vid])
    }
    unproven = {vid for vid in checked & carrying.keys() if not all(trusted for _, trusted in carrying[vid])}
    for refs, vids in snooping:
        yield from _bearing(refs, VlanSet(vids & silent), _UNTRUSTED)
    for refs, vids in checking:
        yield from _bearing(refs, VlanSet(vids & unproven), _UNPROVEN)


def _bearing(refs: Refs, vids: VlanSet, why: str) -> Iterator[tuple[Ref, Bearing]]:
    on = (Setting("vlans"), Setting("gateways"))
    yield from ((ref, Bearing(why.format(vids), on, key=str(vids))) for ref in refs if vids)


def _carrying(topology: Topology, ports: Mapping[str, Port], wanted: VlanSet) -> dict[int, list[tuple[bool, bool]]]:
    """Return by VLAN whether each port that carries it is trusted to answer DHCP, and ARP."""
    interfaces = topology.interfaces
    found: dict[int, list[tuple[bool, bool]]] = {}
    for name, port in ports.items():
        if not port.enabled or name not in interfaces.devices:
            continue
        interface = interfaces.devices[name]
        bundle = interfaces.bundle_of(interface) or interface
        trusted = (interface.trusted or bundle.trusted, interface.arp_trusted or bundle.arp_trusted)
        for vid in wanted & {*port.tagged, port.untagged, port.voice}:
            found.setdefault(vid, []).append(trusted)
    return found


def _own(topology: Topology) -> dict[int, Interface]:
    """Return the interfaces of the VLANs that the device routes: there it answers, or asks servers elsewhere."""
    if not topology.system.routing:
        return {}
    layer2, up = topology.layer2, topology.layer3.up
    addressed = [interface for interface in topology.interfaces.all() if interface.addresses and up(interface)]
    homes = ((layer2.vlan_of(interface), interface) for interface in addressed)
    return {vid: interface for vid, interface in homes if isinstance(vid, int)}


def _asks_outside(vid: int, own: Mapping[int, Interface]) -> bool:
    """Return whether a server's answers come in by a port in a VLAN: it is not routed here, or has a server in it."""
    if vid not in own:
        return True
    servers = {server for interface in own.values() for server in interface.relay_to}
    return any(ip_address(server) in net for server in servers for net in own_networks(own[vid]))
