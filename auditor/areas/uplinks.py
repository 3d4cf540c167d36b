"""How a device's ports get their addresses from the carrier."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, exposure, outage, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.addresses import interface_address
from auditor.core.domains import Domain
from auditor.core.state import Gateway, Setting, Uplink, Vlan
from auditor.plan.schema import PortPlan, StaticUplink
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence
from auditor.topology.layer3 import ADDRESS, ADDRESSED, LEASED, own_addresses


class UplinksArea(Area):
    """Planned uplinks are judged, and addresses on trunks; others are in other areas, or nobody's."""

    name = "uplinks"
    together = (("method", "address"),)
    told_by: ClassVar[Mapping[str, str]] = {
        "method": "interface.method",
        "address": "interface.addresses",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "differs": "the uplink {device} {port} does not get its address as planned",
        "unplanned": "{device} {port} has an address of its own beside its VLANs; the plan has no such network",
        "more": "the uplink {device} {port} has more addresses than planned",
    }

    def planned(self, planning: Planning) -> dict[str, Uplink]:
        """Return the uplinks among the planned ports."""
        return {name: self._planned(port) for name, port in planning.uplinks()}

    def _planned(self, port: PortPlan) -> Uplink:
        if isinstance(port.uplink, StaticUplink):
            return Uplink(method="static", address=port.uplink.static)
        return Uplink.model_validate({"method": port.uplink})

    def observed(self, seen: Observation) -> dict[str, Uplink]:
        """Return the ports that have an address of their own."""
        return _observed(seen.topology, seen.evidence)

    def align(self, pair: Pair) -> None:
        """An uplink in another VRF than what is routed to it leads nowhere."""
        uplinks, apart = pair.observed.uplinks, pair.apart()
        kept = {name: uplink for name, uplink in uplinks.items() if Setting(self.name, name) not in apart}
        if len(kept) < len(uplinks):
            pair.observe(uplinks=kept)

    def complete(self, pair: Pair) -> None:
        """Tell uplinks from gateways, and the carrier's VLANs from the plan's."""
        self._untagged_by_address(pair)
        self._carriers(pair)

    def _untagged_by_address(self, pair: Pair) -> None:
        """A port with an address of its own is the untagged VLAN's layer-3 interface, which no number says on a router.

        Which VLAN that is, the plan's prefix tells; where the plan has another VLAN untagged there, nothing is assumed.
        """
        observed, expected = pair.observed, pair.expected.state
        ports, gateways, uplinks = dict(observed.ports), dict(observed.gateways), dict(observed.uplinks)
        for name, wanted in expected.ports.items():
            port, uplink, vid = ports.get(name), uplinks.get(name), wanted.untagged
            if port is None or port.untagged or uplink is None or not uplink.address or vid not in expected.gateways:
                continue
            planned = [interface_address(a).network for a in expected.gateways[vid].addresses if "/" in a]
            own = uplink.addresses
            if vid in gateways or vid in port.tagged or uplink.method != "static":
                continue
            if not any(interface_address(address).network in planned for address in own):
                continue
            mode = "trunk" if port.tagged else "access"
            ports[name] = port.model_copy(update={"mode": mode, "untagged": vid})
            whole = pair.reading.gateways_of_ports.get(name, Gateway())
            gateways[vid] = whole.model_copy(update={"addresses": tuple(sorted(own))})
            del uplinks[name]
        if len(uplinks) < len(observed.uplinks):
            vlans = {**{vid: Vlan() for vid in gateways if vid not in observed.gateways}, **observed.vlans}
            pair.observe(ports=ports, gateways=gateways, uplinks=uplinks, vlans=vlans)

    def _carriers(self, pair: Pair) -> None:
        """An uplink in a VLAN of the carrier makes its port a trunk; an address without length is compared without."""
        observed, expected = pair.observed, pair.expected
        pair.carrier_vlans = frozenset(self._bridges_of_carriers(pair))
        if not observed.uplinks:
            return
        uplinks, ports = dict(observed.uplinks), dict(observed.ports)
        carrier: set[int] = set()
        for name, wanted in expected.state.uplinks.items():
            found = uplinks.get(name)
            if found is None:
                continue
            if wanted.address and "/" not in wanted.address and found.address:
                bare = ", ".join(address.partition("/")[0] for address in found.addresses)
                uplinks[name] = Uplink(method=found.method, address=bare)
            port = ports.get(name)
            if port is not None and port.mode == "trunk":
                carrier |= port.tagged
                ports[name] = port.model_copy(update={"mode": "routed"})
        planned = expected.state.ports.keys() - expected.uplinks
        others = {vid for name, port in ports.items() if name in planned for vid in (port.untagged, *port.tagged)}
        pair.carrier_vlans |= carrier - others - set(expected.state.vlans)
        trunks = {name for name, port in expected.state.ports.items() if port.mode == "trunk"}
        kept = {name: uplink for name, uplink in uplinks.items() if name in expected.uplinks | trunks}
        pair.observe(uplinks=kept, ports=ports)

    def _bridges_of_carriers(self, pair: Pair) -> set[Domain]:
        """Return the bridges without a number that only ports to the carrier are on, and ports that are not judged."""
        homes: dict[str, list[str]] = {}
        for name, port in pair.observed.ports.items():
            if isinstance(port.untagged, str):
                homes.setdefault(port.untagged, []).append(name)
        beside = pair.expected.uplinks | pair.expected.ignored_ports
        return {
            bridge
            for bridge, names in homes.items()
            if beside.issuperset(names) and not pair.expected.uplinks.isdisjoint(names)
        }

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:  # noqa: ARG002
        """An address on the untagged side of a trunk makes a network there; on other ports, other areas judge it."""
        return items

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Without its address the site has no way out there; an address more is a network that nobody planned."""
        if m.kind == "unplanned" and not m.setting.field:
            return exposure("unplanned", device=seen.device, port=m.setting.key)
        if m.setting.field == "address" and m.expected and m.observed and m.expected in m.observed.split(", "):
            return upkeep("more", device=seen.device, port=m.setting.key)
        return outage("differs", device=seen.device, port=m.setting.key)


_MORE = "this port has more addresses than one, so it is in more networks; check which ones are meant to be there"


def _observed(topology: Topology, evidence: Evidence) -> dict[str, Uplink]:
    """Return the ports that are no part of a VLAN and have an address: leased, or their own."""
    interfaces, layer3 = topology.interfaces, topology.layer3
    ways: dict[str, list[str]] = {}
    for interface in interfaces.all():
        if not interface.says_any(ADDRESSED):
            continue
        if not layer3.up(interface) or interfaces.bridge_of.get(interface.name):
            continue
        addresses = own_addresses(interface)
        port = layer3.port_below(interface)
        if not addresses or port is None or port.kind not in ("port", "bundle"):
            continue
        leased = next((address for address in addresses if address in LEASED), None)
        if not layer3.uplink_works(interface, leased or ""):
            topology.blocked.add(Setting("uplinks", port.name))
            continue
        below = interfaces.below(interface) if interface.kind == "network" else interface
        if below and below.name in topology.layer2.dead_ends:
            continue
        if port.name in interfaces.bundled:  # the bundle takes all frames
            continue
        if leased is None and below is not port:
            continue
        ways.setdefault(port.name, []).extend([leased] if leased else addresses)
        if leased is None and len(addresses) > 1:
            more = list(interface.refs_of_each("addresses"))[1:]
            topology.overriding += [(ref, _MORE, Setting("ports", port.name, "untagged")) for ref in more]
        evidence.note("uplinks", port.name, interface, {"": (*ADDRESS, "vrf")})
    return {name: _uplink(told) for name, told in ways.items()}


def _uplink(told: list[str]) -> Uplink:
    """Return how a port gets its address; what it has beside a leased one is told as its address."""
    method = next((way for way in reversed(LEASED) if way in told), "static")
    others = ", ".join(dict.fromkeys(way for way in told if way != method))
    return Uplink.model_validate({"method": method, "address": others or None})
