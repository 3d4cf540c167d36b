"""DHCP snooping and checks of ARP: the port towards server or gateway has to be trusted, the server be allowed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from auditor.areas import Expected
from auditor.network.graph import KnownDevice
from auditor.network.site import SiteNetwork
from auditor.plan.loader import Plan
from auditor.reading.source import Refs
from auditor.topology.snooping import Snooped

_UNTRUSTED = (
    "DHCP is snooped in VLAN {vid} and {port}, the port towards its server {server}, is not trusted, so no answer "
    "comes back: check which ports may be trusted"
)
_UNBELIEVED = (
    "ARP is checked in VLAN {vid} and {port}, the port towards its gateway {gateway}, is not trusted, so the gateway "
    "is not heard unless its address is bound: check which ports may be trusted"
)
_NOT_ALLOWED = (
    "DHCP is snooped in VLAN {vid} and its server {server} is not among those that may answer: check the list"
)


@dataclass(frozen=True, slots=True)
class Answered:
    """Where answers to the DHCP requests of a VLAN come in at a device.

    Attributes:
        device, vid: which device, and which VLAN.
        port: the port that they come in by; empty on the device that serves the VLAN itself.
        server: the device that serves it, or its relay's servers.
        addresses: sets of addresses; those of one set at least have to be allowed to answer.
    """

    device: str
    vid: int
    port: str
    server: str
    addresses: tuple[frozenset[str], ...]


def answered(plan: Plan, every: Mapping[str, Expected]) -> Iterator[Answered]:
    """Yield for each device on the planned way of a VLAN where the answers of its DHCP server come in."""
    site = SiteNetwork(plan, {name: KnownDevice(expected, None) for name, expected in every.items()})
    for subnet in plan.data.subnets.values():
        gateway, vid = plan.gateway_of(subnet), subnet.vlan
        if not gateway or not subnet.dhcp or not (subnet.dhcp.pool or subnet.dhcp.relay):
            continue
        own = every[gateway].state.gateways.get(vid)
        addresses = [frozenset({a.partition("/")[0]}) for a in (*own.addresses, *own.shared_addresses)] if own else []
        relay = frozenset(map(str, subnet.dhcp.relay))
        if relay:
            yield Answered(gateway, vid, "", ", ".join(sorted(relay)), (relay,))
        allowed = (*addresses, relay) if relay else tuple(addresses)
        yield from (Answered(device, vid, port, gateway, allowed) for device, port in _towards(site, gateway, vid))


def _towards(site: SiteNetwork, gateway: str, vid: int) -> Iterator[tuple[str, str]]:
    """Yield each device on the planned way of a VLAN, and the ports by which it is connected towards the gateway."""
    for way in site.planned.ways_from([(gateway, vid)]).values():
        if len(way) > 1:
            before, here = way[-2:]
            yield from ((here[0], far[1]) for _, far in site.planned.hops[before, here])


def unbelieved(
    plan: Plan, every: Mapping[str, Expected], snooped: Mapping[str, Snooped]
) -> Iterator[tuple[str, int, Refs, str]]:
    """Yield device, VLAN, lines and reason where a check of ARP keeps a gateway's answers from its hosts.

    Args:
        plan: the plan.
        every: of each of its devices, what is planned.
        snooped: by device, what is checked.
    """
    checking = {vid for found in snooped.values() for vid in found.checked}
    if not checking:
        return
    site = SiteNetwork(plan, {name: KnownDevice(expected, None) for name, expected in every.items()})
    for subnet in plan.data.subnets.values():
        gateway, vid = plan.gateway_of(subnet), subnet.vlan
        for device, port in _towards(site, gateway, vid) if gateway and vid in checking else ():
            found = snooped.get(device)
            if found and vid in found.checked and found.carries(port, vid) and not found.believes(port):
                why = _UNBELIEVED.format(vid=vid, port=port, gateway=gateway)
                yield device, vid, found.checked[vid], why


def unanswered(ways: Iterator[Answered], snooped: Mapping[str, Snooped]) -> Iterator[tuple[str, int, Refs, str]]:
    """Yield device, VLAN, lines and reason where snooping keeps a server's answers from its clients.

    Args:
        ways: where they come in.
        snooped: by device, what is snooped.
    """
    for way in ways:
        found = snooped.get(way.device)
        lines = found.vlans.get(way.vid) if found else None
        if not found or not lines:
            continue
        said = {"vid": way.vid, "port": way.port, "server": way.server}
        if way.port and found.carries(way.port, way.vid) and not found.trusts(way.port):
            yield way.device, way.vid, lines, _UNTRUSTED.format(**said)
        if found.servers and not any(one <= found.servers.keys() for one in way.addresses):
            refs = tuple(ref for refs in found.servers.values() for ref in refs)
            yield way.device, way.vid, refs, _NOT_ALLOWED.format(**said)
