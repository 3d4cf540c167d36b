"""DHCP snooping between clients and their server: the port towards it has to be trusted, and the server be allowed."""

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
        for way in site.planned.ways_from([(gateway, vid)]).values():
            if len(way) > 1:
                before, here = way[-2:]
                ports = (far[1] for _, far in site.planned.hops[before, here])
                allowed = (*addresses, relay) if relay else tuple(addresses)
                yield from (Answered(here[0], vid, port, gateway, allowed) for port in ports)


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
