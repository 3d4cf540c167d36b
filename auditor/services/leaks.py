"""Where a subnet comes out that the plan does not have there, and which subnets share a broadcast domain.

Seen from the other side than a service path: from everywhere that a subnet is at home, frames go as far as they get,
over devices that were read. What a gateway routes from one subnet to another is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import networkx as nx

from auditor.model.service import Apart, Apartness, Leak
from auditor.model.state import Setting
from auditor.services.network import Node, member_of
from auditor.services.site import Site


@dataclass(frozen=True)
class Leaks:
    """The leaks of a site."""

    site: Site

    @cached_property
    def floods(self) -> dict[str, set[Node]]:
        """By subnet, the broadcast domains that it is at home in or comes to."""
        network = self.site.sure
        return {name: network.flood(self._homes(subnet.vlan)) for name, subnet in self.site.plan.data.subnets.items()}

    def _homes(self, vid: int) -> set[Node]:
        homes = ((name, vid) for name, device in self.site.known.items() if vid in device.expected.state.vlans)
        return {home for home in homes if home in self.site.sure.graph}

    @cached_property
    def _linked(self) -> set[tuple[str, str]]:
        return {end for link in self.site.links for end in link}

    def leaks(self) -> Iterator[Leak]:
        """Yield each place where a subnet comes out that the plan does not have there."""
        for name, subnet in self.site.plan.data.subnets.items():
            for device, vid in sorted(self.floods[name]):
                for kind, place, settings in self._places(device, vid, subnet.vlan):
                    at = [(device, str(setting)) for setting in settings]
                    at += [pair for pair in self._let_through(subnet.vlan, (device, vid)) if pair not in at]
                    yield Leak(subnet=name, vlan=subnet.vlan, kind=kind, device=device, place=place, at=at)

    def _places(self, device: str, vid: int, home: int) -> Iterator[tuple[str, str, list[Setting]]]:
        """Yield where a broadcast domain of a device comes out and a VLAN is not planned, and the settings there."""
        known = self.site.known[device]
        planned, seen = known.expected.state, self.site.sure.states[device]
        assert seen is not None
        if home not in planned.vlans:
            yield "device", "", []
        for name, port in seen.ports.items():
            if (device, name) in self._linked or name not in planned.ports:
                continue
            if vid in member_of(port).vlans and home not in member_of(planned.ports[name]).vlans:
                yield "port", name, self.site.port_settings((device, name))
        for ssid, wifi in seen.ssids.items():
            aired = wifi.vlan if isinstance(wifi.vlan, tuple) else (wifi.vlan,)
            on = wifi.enabled if isinstance(wifi.enabled, tuple) else (wifi.enabled,)
            wanted = planned.ssids.get(ssid)
            if vid in aired and True in on and (wanted is None or wanted.vlan != home):
                yield "wifi", ssid, [Setting("ssids", ssid, "vlan") if wanted else Setting("ssids", ssid)]

    def _let_through(self, home: int, node: Node) -> Iterator[tuple[str, str]]:
        """Yield the settings of links that let a VLAN through to a node though they should not."""
        graph = self.site.sure.graph
        way = self._way(home, node)
        for one, other in pairwise(way):
            if self.site.planned.graph.has_edge(one, other):
                continue
            for ends in graph.edges[one, other]["ends"]:
                for end in ends:
                    yield from ((end[0], str(setting)) for setting in self.site.port_settings(end))

    def _way(self, home: int, node: Node) -> list[Node]:
        """Return the shortest way from where a VLAN is at home to a node."""
        return self._ways[home].get(node, [])

    @cached_property
    def _ways(self) -> dict[int, dict[Node, list[Node]]]:
        graph, found = self.site.sure.graph, {}
        for subnet in self.site.plan.data.subnets.values():
            homes = self._homes(subnet.vlan)
            found[subnet.vlan] = nx.multi_source_dijkstra_path(graph, homes) if homes else {}
        return found

    def apart(self) -> Iterator[Apart]:
        """Yield for each subnet whether it shares a broadcast domain with others."""
        whole = all(device.observed is not None and not device.unverified for device in self.site.known.values())
        for name, subnet in self.site.plan.data.subnets.items():
            others = [o for o, flood in self.floods.items() if o != name and flood & self.floods[name]]
            state: Apartness = "shared" if others else "apart" if whole else "unverified"
            yield Apart(
                subnet=name, vlan=subnet.vlan, isolated=subnet.isolated, state=state, shared_with=sorted(others)
            )
