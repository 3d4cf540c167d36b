"""A site's network in its three sights: as planned, as seen, and as seen with the rest as planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

from auditor.core.domains import Domain
from auditor.core.state import Setting
from auditor.network.graph import End, KnownDevice, Link, Network, member_of
from auditor.plan.loader import Plan


@dataclass(frozen=True)
class SiteNetwork:
    """A plan, what is known of its devices, and the networks that follow."""

    plan: Plan
    known: Mapping[str, KnownDevice]

    @cached_property
    def links(self) -> list[Link]:
        """The planned links."""
        return self.plan.link_ends()

    @cached_property
    def planned(self) -> Network:
        """The network as planned."""
        return Network(self.known, self.links, "planned")

    @cached_property
    def confirmed(self) -> Network:
        """The network as far as it was seen."""
        return Network(self.known, self.links, "confirmed")

    @cached_property
    def assumed(self) -> Network:
        """The network as seen, and as planned where that was not seen."""
        if self.whole:
            return self.confirmed
        return Network(self.known, self.links, "assumed")

    @property
    def whole(self) -> bool:
        """Whether all that service paths hang on was seen on every device."""
        return all(device.whole for device in self.known.values())

    @cached_property
    def cabling(self) -> nx.Graph[str]:
        """The devices and the links between them, whatever these carry."""
        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(self.known)
        graph.add_edges_from((one[0], other[0]) for one, other in self.links)
        return graph

    def name_of(self, vid: Domain) -> str:
        """Return what a domain is called: its subnet's name and its VLAN id, or the bridge's name."""
        if isinstance(vid, str):
            return vid
        found = self.plan.subnet_of(vid)
        return f"{found[0]} (VLAN {vid})" if found else f"VLAN {vid}"

    def port_settings(self, end: End) -> list[Setting]:
        """Return the settings of a port that let other VLANs through than planned."""
        planned, found = self.planned.port(end), self.assumed.port(end)
        if planned is None or member_of(planned) == member_of(found):
            return []
        if found is None:
            return [Setting("ports", end[1])]
        if planned.enabled != found.enabled:
            return [Setting("ports", end[1], "enabled")]
        fields = ("mode", "untagged", "tagged", "voice")
        return [Setting("ports", end[1], name) for name in fields if getattr(planned, name) != getattr(found, name)]
