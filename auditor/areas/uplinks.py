"""How a device's ports get their addresses from the carrier."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, outage
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.addresses import interface_address
from auditor.core.state import Gateway, Uplink, Vlan
from auditor.core.values import VlanSet
from auditor.plan.schema import PortPlan, StaticUplink
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence
from auditor.topology.layer3 import ADDRESS, ADDRESSED, LEASED, own_addresses


class UplinksArea(Area):
    """Only planned uplinks are judged: what else has an address of its own is in other areas or nobody's."""

    name = "uplinks"
    together = (("method", "address"),)
    told_by: ClassVar[Mapping[str, str]] = {
        "method": "interface.method",
        "address": "interface.addresses",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "differs": "the uplink {device} {port} does not get its address as planned"
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
            if vid in gateways or vid in port.tagged or interface_address(uplink.address).network not in planned:
                continue
            mode = "trunk" if port.tagged else "access"
            ports[name] = port.model_copy(update={"mode": mode, "untagged": vid})
            gateways[vid] = Gateway(addresses=(uplink.address,))
            del uplinks[name]
        if len(uplinks) < len(observed.uplinks):
            vlans = {**{vid: Vlan() for vid in gateways if vid not in observed.gateways}, **observed.vlans}
            pair.observe(ports=ports, gateways=gateways, uplinks=uplinks, vlans=vlans)

    def _carriers(self, pair: Pair) -> None:
        """An uplink in a VLAN of the carrier makes its port a trunk; an address without length is compared without."""
        observed, expected = pair.observed, pair.expected
        if not observed.uplinks:
            return
        uplinks, ports = dict(observed.uplinks), dict(observed.ports)
        carrier: set[int] = set()
        for name in expected.uplinks:
            found, wanted = uplinks.get(name), expected.state.uplinks[name]
            if found is None:
                continue
            if wanted.address and "/" not in wanted.address and found.address:
                uplinks[name] = Uplink(method=found.method, address=found.address.partition("/")[0])
            port = ports.get(name)
            if port is not None and port.mode == "trunk":
                carrier |= port.tagged
                ports[name] = port.model_copy(update={"mode": "routed"})
        others = {vid for name, port in ports.items() if name not in expected.uplinks for vid in port.tagged}
        pair.carrier_vlans = VlanSet(carrier - others - set(expected.state.vlans))
        kept = {name: uplink for name, uplink in uplinks.items() if name in expected.uplinks}
        pair.observe(uplinks=kept, ports=ports)

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:  # noqa: ARG002
        """An address of its own that a port has besides may be anything: other areas judge what it leads to."""
        return {}

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Without its address the site has no way out there."""
        return outage("differs", device=seen.device, port=m.setting.key)


def _observed(topology: Topology, evidence: Evidence) -> dict[str, Uplink]:
    """Return the ports that are no part of a VLAN and have an address: leased, or their own."""
    interfaces, layer3 = topology.interfaces, topology.layer3
    found: dict[str, Uplink] = {}
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
        below = interfaces.below(interface) if interface.kind == "network" else interface
        if leased is None and (below is not port or port.name in found):
            continue
        if leased:
            found[port.name] = Uplink.model_validate({"method": leased})
        else:
            found[port.name] = Uplink(method="static", address=addresses[0])
        evidence.note("uplinks", port.name, interface, {"": ADDRESS})
    return found
