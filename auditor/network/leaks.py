"""Where a subnet reaches that the plan does not have there, and which subnets share a broadcast domain.

Seen from the other side than a service path: from everywhere that a subnet is at home, frames go as far as they get,
over devices that were read. What a gateway routes from one subnet to another is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import networkx as nx

from auditor.core.domains import Domain
from auditor.core.service import Leak, Separation, SeparationState
from auditor.core.state import Setting
from auditor.network.graph import Node, member_of
from auditor.network.site import SiteNetwork


@dataclass(frozen=True)
class Leaks:
    """The leaks of a site."""

    site: SiteNetwork

    @cached_property
    def floods(self) -> dict[str, dict[Node, list[Node]]]:
        """By subnet, the broadcast domains that it is at home in or comes to, and the way there."""
        subnets = self.site.plan.data.subnets.items()
        return {name: self.site.confirmed.ways_from(self._homes(subnet.vlan)) for name, subnet in subnets}

    def _homes(self, vid: int) -> list[Node]:
        return [(name, vid) for name, device in self.site.known.items() if vid in device.expected.state.vlans]

    @cached_property
    def _linked(self) -> set[tuple[str, str]]:
        return {end for link in self.site.links for end in link}

    def leaks(self) -> Iterator[Leak]:
        """Yield each place that a subnet reaches and the plan does not have there."""
        for name, subnet in self.site.plan.data.subnets.items():
            for (device, vid), way in sorted(self.floods[name].items(), key=_by_name):
                for kind, place, settings in self._places(device, vid, subnet.vlan):
                    at = [(device, setting) for setting in settings]
                    at += [pair for pair in self._let_through(way) if pair not in at]
                    yield Leak(subnet=name, vlan=subnet.vlan, kind=kind, device=device, place=place, at=at)

    def _places(self, device: str, vid: Domain, home: int) -> Iterator[tuple[str, str, list[Setting]]]:
        """Yield where a broadcast domain of a device reaches and a VLAN is not planned, and the settings there."""
        known = self.site.known[device]
        planned, seen = known.expected.state, self.site.confirmed.states[device]
        assert seen is not None
        if home not in planned.vlans:
            yield "device", "", []
        for name in seen.ports:
            wanted = planned.ports.get(name, known.expected.unlisted)
            if wanted is None or name in known.expected.ignored_ports or (device, name) in self._linked:
                continue
            if vid in self.site.confirmed.member((device, name)).domains and home not in member_of(wanted).vlans:
                yield "port", name, self.site.port_settings((device, name))
        for ssid, wifi in seen.ssids.items():
            aired = wifi.vlan if isinstance(wifi.vlan, tuple) else (wifi.vlan,)
            on = wifi.enabled if isinstance(wifi.enabled, tuple) else (wifi.enabled,)
            aimed = planned.ssids.get(ssid)
            if vid in aired and True in on and (aimed is None or aimed.vlan != home):
                place = Setting("ssids", ssid, "vlan") if aimed else Setting("ssids", ssid)
                yield "wifi", ssid, [] if aimed and aimed.vlan == wifi.vlan else [place]

    def _let_through(self, way: list[Node]) -> Iterator[tuple[str, Setting]]:
        """Yield the settings of links that let a VLAN go a way that is not planned."""
        for hop in pairwise(way):
            if hop in self.site.planned.hops:
                continue
            for end in dict.fromkeys(end for ends in self.site.confirmed.hops[hop] for end in ends):
                yield from ((end[0], setting) for setting in self.site.port_settings(end))

    def separated(self) -> Iterator[Separation]:
        """Yield for each subnet whether it shares a broadcast domain with others.

        Where the planned links leave devices unconnected, other links must exist, and separation is unknown.
        """
        whole = self.site.whole and nx.is_connected(self.site.cabling)
        for name, subnet in self.site.plan.data.subnets.items():
            others = [o for o, flood in self.floods.items() if o != name and flood.keys() & self.floods[name].keys()]
            state: SeparationState = "shared" if others else "separated" if whole else "unverified"
            yield Separation(
                subnet=name, vlan=subnet.vlan, isolated=subnet.isolated, state=state, shared_with=sorted(others)
            )


def _by_name(flood: tuple[Node, list[Node]]) -> tuple[str, bool, Domain]:
    device, vid = flood[0]
    return device, isinstance(vid, str), vid
