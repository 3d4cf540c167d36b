"""The network as a graph of broadcast domains: a node is a VLAN on a device, a hop a link that its frames pass.

Frames are forwarded as IEEE 802.1Q says: a port sends a VLAN's frames tagged or untagged as it is a member; an
untagged frame goes into the port's untagged VLAN, a tagged one into its own if the port is a member of it. A hop has
a direction, since the two ends of a link may see things differently. Spanning tree is not modelled: where links are
doubled, one way through is enough.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal

import networkx as nx

from auditor.areas import Expected, room
from auditor.core.domains import Domain
from auditor.core.state import DeviceState, Port, Setting

Node = tuple[str, Domain]
"""A broadcast domain on a device: a VLAN, or a bridge that has no number."""
End = tuple[str, str]
"""A port of a device."""
Link = tuple[End, End]
Hop = tuple[Node, Node]
Arrival = tuple[str, Domain, str | None]
"""A frame on a device: its domain, and the port that it came by; none where it was sent there."""
Sight = Literal["planned", "confirmed", "assumed"]
"""As planned; only what was seen; what was seen, and the rest as planned."""
_BUILT_IN = 1
"""The VLAN that every bridge has (IEEE 802.1Q, default PVID)."""


@dataclass(frozen=True, slots=True)
class KnownDevice:
    """What is known of a device.

    Attributes:
        expected: its planned settings.
        observed: its observed ones; ``None`` for a device that could not be read.
        unverified: planned settings that its capture cannot show.
        leads: by port the domains that its tags lead into where these are bridges, and not the VLANs of the tags.
    """

    expected: Expected
    observed: DeviceState | None
    unverified: frozenset[Setting] = frozenset()
    leads: Mapping[str, Mapping[int, Domain]] = field(default_factory=dict)

    @property
    def whole(self) -> bool:
        """Whether all that service paths hang on was seen."""
        return self.observed is not None and not self._unseen()

    def _unseen(self) -> list[tuple[Setting, Any]]:
        """Return the unverified settings that a service path may hang on, and their keys as the states have them."""
        found = []
        for setting in self.unverified:
            fields = room(setting.area).on_paths
            if fields is None:
                continue
            key = next(key for key in getattr(self.expected.state, setting.area) if str(key) == setting.key)
            if setting.field in ("", *fields) or key not in getattr(self.observed, setting.area):
                found.append((setting, key))
        return found

    def seen(self, sight: Sight) -> DeviceState | None:
        """Return its settings in one sight; ``None`` where nothing is known."""
        if sight == "planned":
            return self.expected.state
        if self.observed is None:
            return self.expected.state if sight == "assumed" else None
        areas: dict[str, dict[Any, Any]] = {}
        for setting, key in self._unseen():
            items = areas.setdefault(setting.area, dict(getattr(self.observed, setting.area)))
            planned = getattr(self.expected.state, setting.area)[key]
            if sight == "confirmed":
                items.pop(key, None)
            elif setting.field and key in items:
                items[key] = items[key].model_copy(update={setting.field: getattr(planned, setting.field)})
            else:
                items[key] = planned
        return self.observed.model_copy(update=areas) if areas else self.observed


@dataclass(frozen=True, slots=True)
class Member:
    """The VLANs that a port is a member of. ``open``: the port is not judged, so it takes what the other end has.

    ``leads``: the domains that VLANs of the port are in, where these have other numbers, or none.
    """

    untagged: Domain | None = None
    tagged: frozenset[int] = frozenset()
    own_tag: bool = False
    open: bool = False
    leads: Mapping[int, Domain] = field(default_factory=dict)

    @property
    def vlans(self) -> frozenset[Domain]:
        """All of them, as they are on the wire."""
        return self.tagged | {self.untagged} if self.untagged else self.tagged

    @property
    def domains(self) -> frozenset[Domain]:
        """The domains of the device that they are in."""
        return frozenset(map(self.inside, self.vlans))

    def inside(self, vid: Domain) -> Domain:
        """Return the domain of the device that a VLAN of the port is in."""
        return self.leads.get(vid, vid) if isinstance(vid, int) else vid

    def takes(self, vid: Domain, *, tagged: bool) -> Domain | None:
        """Return the domain that an arriving frame is in; ``None`` if it is dropped."""
        if not tagged:
            return self.inside(self.untagged) if self.untagged else None
        known = vid in self.tagged or (self.own_tag and vid == self.untagged)
        return self.inside(vid) if known else None


def member_of(port: Port | None, leads: Mapping[int, Domain] = MappingProxyType({})) -> Member:
    """Return what a port carries; nothing if it is off, routed or not there."""
    if port is None or not port.enabled or port.mode == "routed":
        return Member()
    voice = {port.voice} if port.voice else frozenset()
    return Member(port.untagged, frozenset(port.tagged | voice), own_tag=port.mode == "trunk", leads=leads)


class Network:
    """A site's broadcast domains in one sight."""

    def __init__(self, known: Mapping[str, KnownDevice], links: list[Link], sight: Sight) -> None:
        self._known = known
        self._sight = sight
        self.links = links
        self.states = {name: device.seen(sight) for name, device in known.items()}
        self._joined: dict[Node, set[Node]] = {}

    @cached_property
    def hops(self) -> dict[Hop, list[Link]]:
        """By two nodes, the links that frames pass from the one to the other; near end first."""
        found: dict[Hop, list[Link]] = {}
        for link in self.links:
            for one, other in (link, link[::-1]):
                for a, b in self.passes(one, other):
                    found.setdefault(((one[0], a), (other[0], b)), []).append((one, other))
        return found

    @cached_property
    def _graph(self) -> nx.DiGraph[Arrival]:
        """Where frames go. A frame never leaves by the port that it came by."""
        out: dict[Node, list[tuple[str, Arrival]]] = {}
        by: dict[Node, set[str | None]] = {}
        for (near, far), links in self.hops.items():
            for one, other in links:
                out.setdefault(near, []).append((one[1], (*far, other[1])))
                by.setdefault(far, {None}).add(other[1])
        graph: nx.DiGraph[Arrival] = nx.DiGraph()
        for node, ways in out.items():
            for port in by.get(node, {None}):
                graph.add_edges_from(((*node, port), arrival) for leaves, arrival in ways if leaves != port)
        return graph

    def exists(self, node: Node) -> bool:
        """Return whether a device has a VLAN."""
        return node[1] in self.vlans(node[0])

    def vlans(self, device: str) -> frozenset[Domain]:
        """Return the domains that exist on a device."""
        state = self.states[device]
        return frozenset({*state.vlans, _BUILT_IN}) if state else frozenset()

    def port(self, end: End) -> Port | None:
        """Return a port's settings; ``None`` where it is not there."""
        state = self.states[end[0]]
        return state.ports.get(end[1]) if state else None

    def member(self, end: End) -> Member:
        """Return what the end of a link carries."""
        port = self.port(end)
        if port is None and self._sight != "confirmed" and end[1] not in self._known[end[0]].expected.state.ports:
            return Member(open=True)
        return member_of(port, {} if self._sight == "planned" else self._known[end[0]].leads.get(end[1], {}))

    def passes(self, one: End, other: End) -> Iterator[tuple[Domain, Domain]]:
        """Yield what passes from one end to the other: a domain here, and the one that its frames are in there."""
        sends, takes = self.member(one), self.member(other)
        here, there = self.vlans(one[0]), self.vlans(other[0])
        if sends.open or takes.open:
            both = here & there if sends.open and takes.open else sends.domains | takes.domains
            yield from ((vid, vid) for vid in both & here & there)
            return
        for vid in sends.vlans:
            into = takes.takes(vid, tagged=vid != sends.untagged)
            if into in there and sends.inside(vid) in here:
                assert into is not None
                yield sends.inside(vid), into

    def ways_from(self, homes: Iterable[Node]) -> dict[Node, list[Node]]:
        """Return the nodes that frames from some nodes come to, those themselves included, and a shortest way there."""
        starts = [(*home, None) for home in homes if self.exists(home)]
        found: dict[Node, list[Node]] = {(device, vid): [(device, vid)] for device, vid, _ in starts}
        inner = [start for start in starts if start in self._graph]
        ways = nx.multi_source_dijkstra_path(self._graph, inner) if inner else {}
        for way in sorted(ways.values(), key=len):
            found.setdefault(way[-1][:2], [arrival[:2] for arrival in way])
        return found

    def joined(self, one: Node, other: Node) -> bool:
        """Return whether frames go from one node to the other, and back."""
        return one in self._around(other)

    def _around(self, home: Node) -> set[Node]:
        """Return the nodes from which frames come to a node, and to which they come from it."""
        if home not in self._joined:
            from_there = self.ways_from([home])
            ends = [arrival for arrival in self._graph if arrival[:2] == home]
            to_there = {node for end in ends for node in nx.ancestors(self._graph, end)}
            self._joined[home] = {n for n in from_there if n == home or (*n, None) in to_there}
        return self._joined[home]
