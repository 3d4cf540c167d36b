"""Static routes: where a device sends what is for none of its own networks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network

from auditor.reading.row_models.system import RouteRow
from auditor.reading.source import Refs
from auditor.topology.device import Topology
from auditor.topology.interfaces import IPV4

_LEARNS = re.compile(r"(?:^|[ /])(?:ospf|bgp|rip|eigrp|isis|babel)\b")
_IDLE = re.compile(r"router (\w+?6?)( redistribute\S* .*)?")
"""A protocol without neighbours, networks or areas; some devices print it that way whether it is used or not."""
_ALL = IPv4Network("0.0.0.0/0")
_NEAREST = 1
"""The distance of a route that says none: the usual one, of static routes."""


@dataclass(frozen=True, slots=True)
class Route:
    """A static route that is in force; ``out``: it leaves by an interface, whatever that leads to."""

    to: IPv4Network
    hops: tuple[IPv4Address, ...]
    out: bool
    discards: bool
    distance: int
    vrf: str
    refs: Refs

    @property
    def everywhere(self) -> bool:
        """Whether it is for all that no other route is for."""
        return self.to == _ALL


@dataclass(frozen=True, slots=True)
class Routes:
    """The static routes of a device.

    Attributes:
        every: those in force.
        own: its own addresses.
        connected: the networks of these.
        leased: a carrier may tell it the way to all else.
        learns: other routers tell it ways, so that what is written is not all there is.
    """

    every: tuple[Route, ...]
    own: frozenset[IPv4Address]
    connected: tuple[IPv4Network, ...]
    leased: bool
    learns: bool

    def on_own(self, target: IPv4Address) -> int:
        """Return the length of the narrowest own network that an address is on; -1 where it is on none."""
        return max((network.prefixlen for network in self.connected if target in network), default=-1)

    def connects(self, network: IPv4Network) -> bool:
        """Return whether it has an address in a network."""
        return any(each.overlaps(network) for each in self.connected)

    def misses(self, target: IPv4Address, *, inside: Sequence[IPv4Network], certain: bool) -> bool:
        """Return whether nothing tells a way to an address.

        Args:
            target: the address.
            inside: the networks of the site that others route, where the address is in one of them: the way to the
                carrier is none to them.
            certain: it needs one. All else is judged where the device is told ways of that kind: one that no route
                leads to any of these networks may have been kept from them.
        """
        if self.learns or (self.leased and not inside) or self.on_own(target) >= 0:
            return False
        routes = [route for route in self.every if not (inside and route.everywhere)]
        told = any(route.to.overlaps(network) for route in routes for network in inside) if inside else bool(routes)
        return (told or certain) and not any(target in route.to for route in routes)

    def towards(self, target: IPv4Address) -> list[Route]:
        """Return the routes by which an address is reached, one at least a VRF, where they go before own networks."""
        found: dict[str, list[Route]] = {}
        own = self.on_own(target)
        for route in self.every:
            if target in route.to and route.to.prefixlen > own:
                best = found.setdefault(route.vrf, [])
                if best and _rank(route) > _rank(best[0]):
                    best.clear()
                if not best or _rank(route) == _rank(best[0]):
                    best.append(route)
        return [route for best in found.values() for route in best]

    def resolves(self, hop: IPv4Address) -> bool:
        """Return whether a next hop is on an own network, or another route leads towards it."""
        beyond = (route for route in self.every if not route.everywhere and hop not in route.hops)
        return self.on_own(hop) >= 0 or any(hop in route.to for route in beyond)


def _rank(route: Route) -> tuple[int, int]:
    return route.to.prefixlen, -route.distance


def routes_of(topology: Topology) -> Routes:
    """Return a device's static routes."""
    layer3 = topology.layer3
    own = [address for interface, address in layer3.fixed if layer3.up(interface)]
    connected = {each.network for each in own}
    routing = topology.system.routing and len(connected) > 1
    rows = (row for row in topology.rows.route if not (row.inactive or row.disabled))
    of_interfaces = (
        Route(_ALL, hops, out=False, discards=False, distance=_NEAREST, vrf="", refs=interface.at("next_hops"))
        for interface in layer3.addressed
        if interface.next_hops and layer3.up(interface) and (hops := _addresses(interface.next_hops))
    )
    return Routes(
        (*(route for row in rows for route in _route(row, routing=routing)), *of_interfaces),
        frozenset(each.ip for each in own),
        tuple(connected),
        any(map(layer3.up, layer3.leased)),
        _learns(topology.headers),
    )


def _learns(headers: Iterable[str]) -> bool:
    """Return whether other routers tell a device ways, by the first lines of its sections."""
    found = [(header, _IDLE.fullmatch(header)) for header in headers if _LEARNS.search(header)]
    printed = {idle[1] for _, idle in found if idle and idle[2]}
    return any(idle is None or idle[1] not in printed for _, idle in found)


def _route(row: RouteRow, *, routing: bool) -> Iterator[Route]:
    """Yield what a row says, where it holds and can be read."""
    if row.idle_gateway:
        if not routing and IPV4.fullmatch(row.idle_gateway):
            yield Route(
                _ALL,
                (IPv4Address(row.idle_gateway),),
                out=False,
                discards=False,
                distance=_NEAREST,
                vrf="",
                refs=row.at("idle_gateway"),
            )
        return
    try:
        prefix = row.prefix.replace(" ", "") + (f"/{row.netmask}" if row.netmask else "")
        to = _ALL if prefix in ("", "default") else IPv4Network(prefix, strict=False)
    except ValueError:
        return
    hops = _addresses(row.next_hops)
    out = (bool(row.out) and not hops) or len(hops) < len(row.next_hops)
    if hops or out or row.discards:
        distance = int(row.distance) if row.distance.isdecimal() else _NEAREST
        refs = tuple(dict.fromkeys(row.at("prefix", "next_hops", "discards")))
        yield Route(to, hops, out=out, discards=row.discards, distance=distance, vrf=row.vrf, refs=refs)


def _addresses(texts: Iterable[str]) -> tuple[IPv4Address, ...]:
    return tuple(IPv4Address(text) for text in texts if IPV4.fullmatch(text))
