"""What a site's network does, found by sending single Ethernet frames through it: slow, plain, and right by reading.

It shares nothing with ``auditor/network/`` but the types of plan and state, and uses no library of graphs. A frame is
followed port by port as IEEE 802.1Q has it (clause 6.9 on tags and port VLAN ids, 8.6.2 on ingress filtering, 8.8 on
the member set; clauses from memory). What spanning tree blocks is not modelled: a loop is flooded once. A link's end
that is no port of its device's state drops all frames.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from auditor.core.service import PathState, SeparationState, ServiceKind
from auditor.core.state import DeviceState, Port
from tests.network.site import End, Site

DEFAULT_VLAN = 1
"""IEEE 802.1Q, table 9-2: the default port VLAN id; a bridge always has this VLAN."""


class Node(NamedTuple):
    """A VLAN on a device."""

    device: str
    vlan: int


class Arrival(NamedTuple):
    """A frame in a VLAN of a device; ``by`` is the port that it came in by, none where it was sent there."""

    device: str
    vlan: int
    by: str | None


class Frame(NamedTuple):
    """A frame on a cable: its tag, none if it is untagged."""

    tag: int | None


class Service(NamedTuple):
    """Whom the network should serve: a Wi-Fi name, an access port, or a device (its place is empty)."""

    kind: ServiceKind
    device: str
    place: str
    subnet: str


class Verdict(NamedTuple):
    """How a service fares; ``gateway`` and ``dhcp`` are none where there should be none."""

    way: PathState
    gateway: PathState | None
    dhcp: PathState | None
    state: PathState


class LeakAt(NamedTuple):
    """Where a subnet's VLAN comes out without being planned there."""

    vlan: int
    kind: ServiceKind
    device: str
    place: str


def exists(state: DeviceState, vlan: int) -> bool:
    """Return whether a device bridges a VLAN at all."""
    return vlan == DEFAULT_VLAN or vlan in state.vlans


def switched(port: Port) -> bool:
    """Return whether a port takes part in bridging."""
    return port.enabled and port.mode != "routed"


def leaving(port: Port, vlan: int) -> Frame | None:
    """Return a VLAN's frame as it leaves by a port, or none if the port is no member of the VLAN."""
    if not switched(port):
        return None
    if port.untagged == vlan:
        return Frame(None)
    if vlan in port.tagged or port.voice == vlan:
        return Frame(vlan)
    return None


def entering(port: Port, frame: Frame) -> int | None:
    """Return the VLAN into which a port takes a frame, or none if it drops it."""
    if not switched(port):
        return None
    if frame.tag is None:
        assert not isinstance(port.untagged, str)
        return port.untagged
    native = port.mode == "trunk" and port.untagged == frame.tag
    member = frame.tag in port.tagged or port.voice == frame.tag or native
    return frame.tag if member else None


class Network:
    """Devices in some state, and the cables between them; a frame to any other device is lost."""

    def __init__(self, states: dict[str, DeviceState], cables: dict[End, list[End]]) -> None:
        self.states = states
        self.cables = cables

    def flood(self, starts: Iterable[Node]) -> set[Node]:
        """Return where frames arrive that are sent in these VLANs of these devices, the starts among them."""
        waiting = deque(Arrival(*start, None) for start in starts if self.has(start))
        seen: set[Arrival] = set()
        while waiting:
            arrival = waiting.popleft()
            if arrival not in seen:
                seen.add(arrival)
                waiting.extend(self.onwards(arrival))
        return {Node(arrival.device, arrival.vlan) for arrival in seen}

    def has(self, node: Node) -> bool:
        """Return whether the device is there and has the VLAN."""
        return node.device in self.states and exists(self.states[node.device], node.vlan)

    def onwards(self, arrival: Arrival) -> Iterator[Arrival]:
        """Yield where a frame goes next: over every cable but the one that it came by."""
        for name, port in self.states[arrival.device].ports.items():
            frame = leaving(port, arrival.vlan)
            if name == arrival.by or frame is None:
                continue
            for far in self.cables.get(End(arrival.device, name), ()):
                state = self.states.get(far.device)
                if state is None or far.port not in state.ports:
                    continue
                vlan = entering(state.ports[far.port], frame)
                if vlan is not None and exists(state, vlan):
                    yield Arrival(far.device, vlan, far.port)


def services(site: Site) -> Iterator[Service]:
    """Yield all that the plan wants to be served: Wi-Fi names, access ports (those of links too), devices."""
    for ssid, wifi in site.plan.data.wifi.items():
        for device in wifi.on:
            yield Service("wifi", device, ssid, wifi.subnet)
    for device, ports in site.plan.ports.items():
        for name, port in ports.items():
            if port.access:
                yield Service("port", device, name, port.access)
            if port.voice:
                yield Service("port", device, name, port.voice)
    for name, entry in site.plan.data.devices.items():
        for subnet, planned in site.subnets.items():
            if entry.address and entry.address in planned.prefix:
                yield Service("device", name, "", subnet)


def enters(site: Site, service: Service, state: DeviceState) -> bool:
    """Return whether what is served gets into its VLAN on its own device."""
    subnet = site.subnets[service.subnet]
    if service.kind == "wifi":
        ssid = state.ssids.get(service.place)
        return ssid is not None and ssid.enabled is True and ssid.vlan == subnet.vlan
    if service.kind == "port":
        port = state.ports.get(service.place)
        if port is None:
            return False
        if site.plan.ports[service.device][service.place].voice == service.subnet:
            return leaving(port, subnet.vlan) == Frame(subnet.vlan)
        return entering(port, Frame(None)) == subnet.vlan
    address = site.plan.data.devices[service.device].address
    gateway = state.gateways.get(subnet.vlan)
    return gateway is not None and f"{address}/{subnet.prefix.prefixlen}" in gateway.addresses


def directions(site: Site, service: Service, network: Network) -> tuple[bool, bool]:
    """Return whether a VLAN's frames arrive at the gateway device, and whether they arrive from there."""
    subnet = site.subnets[service.subnet]
    here = Node(service.device, subnet.vlan)
    router = site.plan.gateway_of(subnet)
    there = here if router is None else Node(router, subnet.vlan)
    return there in network.flood([here]), here in network.flood([there])


def _fares(site: Site, service: Service, network: Network) -> tuple[bool, bool | None, bool | None]:
    """Return whether way, gateway and DHCP are there as planned in a network; none where they should not be."""
    subnet = site.subnets[service.subnet]
    state = network.states.get(service.device)
    way = state is not None and enters(site, service, state) and all(directions(site, service, network))
    router = site.plan.gateway_of(subnet)
    if router is None:
        return way, None, None
    planned, found = site.expected[router].state, network.states.get(router, DeviceState())
    wanted, gateway = planned.gateways[subnet.vlan], found.gateways.get(subnet.vlan)
    has_addresses = (
        gateway is not None
        and set(wanted.addresses) <= set(gateway.addresses)
        and set(wanted.shared_addresses) <= set(gateway.shared_addresses)
    )
    scope = str(subnet.prefix)
    serves: bool | None = None
    if subnet.dhcp and subnet.dhcp.pool:
        serves = (
            scope in found.dhcp
            and bool(found.dhcp[scope].pools)
            and found.dhcp[scope].gateway == planned.dhcp[scope].gateway
        )
    elif subnet.dhcp and subnet.dhcp.relay:
        serves = gateway is not None and set(wanted.relay_to) <= set(gateway.relay_to)
    return way, way and has_addresses, None if serves is None else way and serves


def verdicts(site: Site) -> dict[Service, Verdict]:
    """Return how each service fares: by what was read, or else by what unread devices might be."""
    read, assumed = Network(site.read, site.cables), Network(site.assumed, site.cables)
    found = {}
    for service in services(site):
        confirmed, perhaps = _fares(site, service, read), _fares(site, service, assumed)
        way = _judged(confirmed[0], perhaps[0])
        gateway, dhcp = (
            None if known is None or possible is None else _judged(known, possible)
            for known, possible in zip(confirmed[1:], perhaps[1:], strict=True)
        )
        state = _judged(False not in confirmed, False not in perhaps)
        found[service] = Verdict(way, gateway, dhcp, state)
    return found


def _judged(confirmed: bool, perhaps: bool) -> PathState:
    if confirmed:
        return "reached"
    return "unverified" if perhaps else "broken"


def spread(site: Site, vlan: int) -> set[Node]:
    """Return where a VLAN's frames get to from all read devices on which it is planned, by read devices only."""
    homes = [Node(name, vlan) for name in site.read if vlan in site.expected[name].state.vlans]
    return Network(site.read, site.cables).flood(homes)


def leaks(site: Site) -> set[LeakAt]:
    """Return every place where a subnet's VLAN comes out that the plan does not give to it."""
    found: set[LeakAt] = set()
    for subnet in site.subnets.values():
        for node in spread(site, subnet.vlan):
            found.update(_comes_out(site, subnet.vlan, node))
    return found


def _comes_out(site: Site, vlan: int, node: Node) -> Iterator[LeakAt]:
    expected, state = site.expected[node.device], site.read[node.device]
    if vlan not in expected.state.vlans:
        yield LeakAt(vlan, "device", node.device, "")
    for name, port in state.ports.items():
        judged = End(node.device, name) not in site.cables and name not in expected.ignored_ports
        planned = expected.state.ports.get(name, expected.unlisted)
        if judged and planned is not None and leaving(port, node.vlan) is not None and not _on(planned, vlan):
            yield LeakAt(vlan, "port", node.device, name)
    for name, ssid in state.ssids.items():
        planned_ssid = expected.state.ssids.get(name)
        at_home = planned_ssid is not None and planned_ssid.vlan == vlan
        if ssid.enabled is True and ssid.vlan == node.vlan and not at_home:
            yield LeakAt(vlan, "wifi", node.device, name)


def _on(planned: Port, vlan: int) -> bool:
    return vlan in planned.tagged or vlan in (planned.untagged, planned.voice)


def separated(site: Site) -> dict[str, tuple[SeparationState, frozenset[str]]]:
    """Return for each subnet whether it is apart from the others, and those it shares a broadcast domain with."""
    areas = {name: spread(site, subnet.vlan) for name, subnet in site.subnets.items()}
    all_read = len(site.read) == len(site.observed)
    found: dict[str, tuple[SeparationState, frozenset[str]]] = {}
    for name, area in areas.items():
        shared = frozenset(other for other, its in areas.items() if other != name and area & its)
        found[name] = ("shared" if shared else "separated" if all_read else "unverified", shared)
    return found
