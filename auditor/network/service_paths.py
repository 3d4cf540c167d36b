"""Service paths: from each Wi-Fi name, access port and device to its subnet's gateway and DHCP, and where they stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import networkx as nx

from auditor.core.service import Fault, PathState, ServiceKind, ServicePath
from auditor.core.state import Gateway, Port, Setting, Ssid
from auditor.network.faults import PathFaults
from auditor.network.graph import Network, Node, member_of
from auditor.network.site import SiteNetwork
from auditor.plan.schema import Subnet


class Served(NamedTuple):
    """Something that should reach its gateway: a Wi-Fi name, an access port, or a device by its own address."""

    kind: ServiceKind
    device: str
    place: str
    subnet: str
    vlan: int


@dataclass(frozen=True)
class Ways:
    """The service paths of a site."""

    site: SiteNetwork
    _planned: dict[Node, dict[Node, list[Node]]] = field(default_factory=dict, repr=False)

    def paths(self) -> list[ServicePath]:
        """Return every path; ports of one device that fare alike are one."""
        alike: dict[Any, list[ServicePath]] = {}
        for served in self._served():
            path = self._path(served)
            here = (served.device, served.place)
            faults = tuple(
                ("" if (fault.device, fault.place) == here else fault.place, fault.why) for fault in path.faults
            )
            key = (path.kind, path.device, path.vlan, path.way, path.gateway, path.dhcp, faults)
            alike.setdefault(key if path.kind == "port" else served, []).append(path)
        return [_merged(group) for group in alike.values()]

    def _served(self) -> Iterator[Served]:
        """Yield what the plan serves: Wi-Fi names first, then ports, then the devices themselves."""
        subnets = self.site.plan.data.subnets
        names = {subnet.vlan: name for name, subnet in subnets.items()}
        for device, known in self.site.known.items():
            for ssid, wifi in known.expected.state.ssids.items():
                if isinstance(wifi.vlan, int):
                    yield Served("wifi", device, ssid, names[wifi.vlan], wifi.vlan)
        for device, known in self.site.known.items():
            for port, planned in known.expected.state.ports.items():
                vid = planned.untagged
                if not planned.enabled or not (planned.mode == "access" or self._is_access(device, port)):
                    continue
                voice = planned.tagged | ({planned.voice} if planned.voice else frozenset())
                yield from (Served("port", device, port, names[v], v) for v in (vid, *sorted(voice)) if v in names)
        for device, entry in self.site.plan.data.devices.items():
            for name, subnet in subnets.items():
                if entry.address and entry.address in subnet.prefix:
                    yield Served("device", device, "", name, subnet.vlan)

    def _is_access(self, device: str, port: str) -> bool:
        """Return whether a planned trunk is the access port of a dialect that has no voice VLANs."""
        planned = self.site.plan.ports.get(device, {}).get(port)
        return planned is not None and planned.access is not None

    def _path(self, served: Served) -> ServicePath:
        subnet = self.site.plan.data.subnets[served.subnet]
        gateway = self.site.plan.gateway_of(subnet)
        start = (served.device, served.vlan)
        home = (gateway, served.vlan) if gateway else start
        entry = self._judge(lambda network: not self._enters(network, served))
        joined = self._judge(lambda network: network.joined(start, home))
        uncabled = joined == "broken" and not nx.has_path(self.site.cabling, served.device, home[0])
        way = worst(entry, "unverified" if uncabled else joined)
        at_gateway = dhcp = None
        if gateway:
            answers = self._judge(lambda network: not (self._silent(network, home) or self._twice(network, home)))
            at_gateway = worst(way, answers)
        if gateway and subnet.dhcp and (subnet.dhcp.pool or subnet.dhcp.relay):
            dhcp = worst(way, self._judge(lambda network: not self._gives_nothing(network, home, subnet)))
        state = worst(way, *(part for part in (at_gateway, dhcp) if part))
        through = self._through(start, home)
        faults = PathFaults(self.site, served.vlan)
        if state == "unverified":
            found = faults.unknown(through) if not uncabled else [faults.uncabled(served.device, home[0])]
        elif state == "broken":
            found = [*self._entry(served), *faults.on_the_way(through), *self._at_the_end(home, subnet)]
            found = found or [faults.planned_so(served.device, home[0])]
        else:
            found = []
        return ServicePath(
            kind=served.kind,
            device=served.device,
            places=[served.place] if served.place else [],
            subnet=served.subnet,
            vlan=served.vlan,
            prefix=str(subnet.prefix),
            state=state,
            way=way,
            gateway=at_gateway,
            dhcp=dhcp,
            gateway_device=gateway,
            through=[device for device, _ in through],
            faults=found,
        )

    def _judge(self, holds: Callable[[Network], bool]) -> PathState:
        """Return whether something holds by what was seen, or may hold where that was not seen."""
        if holds(self.site.confirmed):
            return "reached"
        return "unverified" if self.site.assumed is not self.site.confirmed and holds(self.site.assumed) else "broken"

    def _enters(self, network: Network, served: Served) -> str:
        """Return why what is served does not come into its VLAN; empty where it does."""
        state = network.states[served.device]
        if state is None:
            return "was not read"
        match served.kind:
            case "port":
                planned_port = self.site.known[served.device].expected.state.ports[served.place]
                return self._why_not_in(state.ports.get(served.place), planned_port, served.vlan)
            case "wifi":
                return _why_not_aired(state.ssids.get(served.place), served.vlan, self.site)
        data = self.site.plan.data
        own = f"{data.devices[served.device].address}/{data.subnets[served.subnet].prefix.prefixlen}"
        found = state.gateways.get(served.vlan, Gateway())
        return "" if own in found.addresses else "does not have its address"

    def _why_not_in(self, port: Port | None, planned: Port, vid: int) -> str:
        """Return why what is plugged in at a port is not in its VLAN; empty where it is."""
        if port is None:
            return "is not in the capture"
        if not port.enabled:
            return "is switched off"
        member = member_of(port)
        if vid != planned.untagged:
            return "" if vid in member.tagged else f"does not offer {self.site.name_of(vid)} as voice VLAN"
        if member.untagged != vid:
            return f"is in {self.site.name_of(member.untagged)}" if member.untagged else "is in no VLAN"
        return ""

    def _silent(self, network: Network, home: Node) -> list[Setting]:
        """Return the settings for which a gateway does not answer; none where it does."""
        device, vid = home
        planned, state = self.site.known[device].expected.state.gateways.get(vid, Gateway()), network.states[device]
        if state is None or vid not in state.gateways:
            return [Setting("gateways", str(vid))]
        found = state.gateways[vid]
        names = ("addresses", "shared_addresses")
        return [
            Setting("gateways", str(vid), n) for n in names if not set(getattr(planned, n)) <= set(getattr(found, n))
        ]

    def _twice(self, network: Network, home: Node) -> list[str]:
        """Return the other devices that have a gateway's address in its VLAN."""
        device, vid = home
        planned = self.site.known[device].expected.state.gateways.get(vid, Gateway())
        return [
            other
            for other, state in network.states.items()
            if other != device
            and state
            and vid in state.gateways
            and set(planned.addresses) & set(state.gateways[vid].addresses)
        ]

    def _gives_nothing(self, network: Network, home: Node, subnet: Subnet) -> list[Setting]:
        """Return the settings for which no addresses, or no gateway, are given out; the pool need not be whole."""
        device, vid = home
        planned, state = self.site.known[device].expected.state, network.states[device]
        key = str(subnet.prefix)
        if key in planned.dhcp:
            if state is None or key not in state.dhcp:
                return [Setting("dhcp", key)]
            wrong = [] if state.dhcp[key].pools else [Setting("dhcp", key, "pools")]
            sent = Setting("dhcp", key, "gateway")
            if (
                sent not in self.site.known[device].expected.unsaid
                and state.dhcp[key].gateway != planned.dhcp[key].gateway
            ):
                wrong.append(sent)
            return wrong
        relay = planned.gateways[vid].relay_to if vid in planned.gateways else ()
        found = state.gateways[vid].relay_to if state and vid in state.gateways else ()
        return [] if set(relay) <= set(found) else [Setting("gateways", str(vid), "relay_to")]

    def _entry(self, served: Served) -> Iterator[Fault]:
        why = self._enters(self.site.assumed, served)
        if not why:
            return
        match served.kind:
            case "port":
                settings = self.site.port_settings((served.device, served.place))
            case "wifi":
                settings = [
                    Setting("ssids", served.place),
                    *(Setting("ssids", served.place, n) for n in ("enabled", "vlan")),
                ]
            case "device":
                vid = str(served.vlan)
                settings = [Setting("gateways", vid), Setting("gateways", vid, "addresses")]
        yield Fault(device=served.device, place=served.place, why=why, settings=settings)

    def _at_the_end(self, home: Node, subnet: Subnet) -> Iterator[Fault]:
        """Yield what is wrong at the gateway itself."""
        device, vid = home
        if self.site.plan.gateway_of(subnet) is None:
            return
        silent = self._silent(self.site.assumed, home)
        if silent:
            why = f"does not have the gateway's address in {self.site.name_of(vid)}"
            yield Fault(device=device, why=why, settings=silent)
        for other in self._twice(self.site.assumed, home):
            settings = [Setting("gateways", str(vid)), Setting("gateways", str(vid), "addresses")]
            yield Fault(
                device=other, why=f"also has the gateway's address in {self.site.name_of(vid)}", settings=settings
            )
        nothing = self._gives_nothing(self.site.assumed, home, subnet) if subnet.dhcp else []
        if nothing:
            does = {"relay_to": "relay requests", "gateway": "give clients the gateway"}
            why = f"does not {does.get(nothing[0].field, 'lease addresses')} in {self.site.name_of(vid)} as planned"
            yield Fault(device=device, why=why, settings=nothing)

    def _through(self, start: Node, home: Node) -> list[Node]:
        """Return the nodes on the planned way, start first; only the start where the plan has no way."""
        if home not in self._planned:
            self._planned[home] = self.site.planned.ways_from([home])
        way = self._planned[home].get(start)
        return way[::-1] if way else [start]


def worst(*states: PathState) -> PathState:
    """Return the worst of some states: broken, then unverified."""
    return next((state for state in ("broken", "unverified") if state in states), "reached")


def _merged(paths: list[ServicePath]) -> ServicePath:
    """Return one path for several that fare alike."""
    faults: dict[tuple[str, str, str], Fault] = {}
    for path in paths:
        for fault in path.faults:
            faults.setdefault((fault.device, fault.place, fault.why), fault)
    places = [place for path in paths for place in path.places]
    return paths[0].model_copy(update={"places": places, "faults": list(faults.values())})


def _why_not_aired(wifi: Ssid | None, vid: int, site: SiteNetwork) -> str:
    """Return why whoever joins a Wi-Fi name is not in a VLAN; empty where they are."""
    if wifi is None:
        return "is missing"
    if wifi.enabled is not True:
        return "is switched off on some radios" if wifi.enabled else "is switched off"
    if wifi.vlan == vid:
        return ""
    vids = wifi.vlan if isinstance(wifi.vlan, tuple) else (wifi.vlan,)
    return f"is in {' or '.join(site.name_of(other) if other else 'no VLAN' for other in vids)}"
