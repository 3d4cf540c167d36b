"""The VLANs that exist on a device, and their names."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import chain
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Ruling, Sighting, exposure, outage, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair, shown
from auditor.areas.planning import Planning
from auditor.core.domains import Domain, domain, numbers
from auditor.core.report import Doubt
from auditor.core.state import Setting, Vlan
from auditor.core.values import VlanSet
from auditor.platforms.names import vlan_name
from auditor.reading.row_models.field_names import FieldName
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence


class VlansArea(Area):
    """A device needs the VLANs of its ports, of its Wi-Fi names and of the subnets that it routes."""

    name = "vlans"
    on_paths = ()
    told_by: ClassVar[Mapping[str, str]] = {
        "name": "vlan.name interface.vlan_name",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "name": "the name of {net} on {device} is {found}",
        "absent": "{net} does not exist on {device}: devices in it have no connection there",
        "joins": "{bridge} on {device} joins {nets}: devices in them reach each other without passing a router",
        "unplanned": "{net} exists on {device} but is not planned there",
    }

    def planned(self, planning: Planning) -> dict[int, Vlan]:
        """Return the VLANs that all other areas need."""
        subnets = {vid: planning.plan.subnet_of(vid) for vid in sorted(planning.vlans)}
        return {vid: Vlan(name=found[0] if found else None) for vid, found in subnets.items()}

    def observed(self, seen: Observation) -> dict[Domain, Vlan]:
        """Return the VLANs that are declared, and those that exist by being used."""
        return _observed(seen.topology, seen.evidence)

    def shown(self, topology: Topology, answered: bool) -> bool:
        """Where VLANs may live outside of the configuration, it shows them if it declares one that must be there."""
        table, known = topology.platform.vlans, {*topology.layer2.declared, *topology.layer2.off}
        if not table.shown_by:
            return answered
        system = topology.system
        said = system.vlans_shown if system.says("vlans_shown") else bool(table.shown_by & known)
        declared = said or not topology.switching
        return declared or (answered and bool(known))

    def align(self, pair: Pair) -> None:
        """A planned name is compared as it would be shown."""
        pair.expect(vlans={vid: shown(vlan, "name") for vid, vlan in pair.expected.state.vlans.items()})

    def complete(self, pair: Pair) -> None:
        """Bring in VLANs that no line makes, and leave out names that none can have there."""
        self._built_in(pair)
        self._names_of_used(pair)

    def _built_in(self, pair: Pair) -> None:
        """A VLAN that is built in is there though no line makes it, and a plan that uses it does not rename it.

        What is in it, ports and gateways tell. Where VLANs are there by being used, so is the one of untagged frames,
        which no line numbers, and one that a single port lets pass and is planned to be in.
        """
        observed, wanted, table = pair.observed, pair.expected.state.vlans, pair.platform.vlans
        untagged = {port.untagged for port in observed.ports.values()}
        used = {*observed.gateways, *untagged, *self._of_one_port(pair)} if pair.platform.bridging.by_use else set()
        there = (table.built_in.keys() - pair.reading.vlans_off) | used
        silent: dict[Domain, Vlan] = {
            vid: Vlan(name=vlan_name(table, vid))
            for vid in numbers(wanted)
            if vid in there and vid not in observed.vlans
        }
        if silent:
            pair.observe(vlans={**observed.vlans, **silent})
        vlans = pair.observed.vlans
        unnamed = {vid for vid, name in table.built_in.items() if name and vid in vlans and vlans[vid].name == name}
        pair.leave_open(*(Setting(self.name, str(vid), "name") for vid in unnamed & set(wanted)))

    def _of_one_port(self, pair: Pair) -> Iterator[int]:
        """Yield the planned VLANs that a single port is planned to carry tagged, and does."""
        planned, observed = pair.expected.state, pair.observed.ports
        for vid in numbers(planned.vlans):
            carriers = [
                name
                for name, port in planned.ports.items()
                if name in pair.expected.carries_all or vid in (port.untagged, *port.tagged)
            ]
            if len(carriers) == 1 and carriers[0] in observed and vid in observed[carriers[0]].tagged:
                yield vid

    def _names_of_used(self, pair: Pair) -> None:
        """A VLAN that is there only by being used has no name on that device, so none is expected."""
        wanted = pair.expected.state.vlans
        nameless = {vid for vid, vlan in pair.observed.vlans.items() if vlan.name is None and vid in wanted}
        if any(wanted[vid].name for vid in nameless):
            pair.expect(vlans={vid: Vlan() if vid in nameless else vlan for vid, vlan in wanted.items()})

    def rulings(self, pair: Pair, passphrase: Callable[[str], bool | Doubt]) -> Iterator[Ruling]:  # noqa: ARG002
        """Yield the bridges that VLANs of several subnets lead into, by the bridge's name."""
        names = {vid: bridge for bridge, vid in pair.reading.numbered.items()}
        planned = set(pair.expected.prefixes.values())
        joined: dict[str, set[int]] = {}
        for tags in pair.leads.values():
            for tag, into in tags.items():
                if isinstance(into, int) and into != tag and tag in planned:
                    joined.setdefault(names[into], {into}).add(tag)
        for bridge, vids in joined.items():
            yield Mismatch(Setting(self.name, bridge), "unplanned", None, {"name": None, "joins": str(VlanSet(vids))})

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:
        """A built-in VLAN is there of itself, and the carrier's VLANs are the carrier's business.

        So is a bridge there of itself that only trunks of all VLANs are on: nothing that is planned comes into it.
        """
        of_itself = {*pair.platform.vlans.built_in, *pair.carrier_vlans, *self._of_trunks(pair)}
        return {key: item for key, item in items.items() if domain(key) not in of_itself}

    def _of_trunks(self, pair: Pair) -> set[str]:
        """Return the bridges without a number that are in use by no more than trunks of all VLANs."""
        trunks = {
            pair.reading.state.ports[n].untagged for n in pair.expected.carries_all & pair.reading.state.ports.keys()
        }
        aired = (wifi.vlan if isinstance(wifi.vlan, tuple) else (wifi.vlan,) for wifi in pair.observed.ssids.values())
        used = {*pair.observed.gateways, *(port.untagged for port in pair.observed.ports.values()), *chain(*aired)}
        return {each for each in trunks if isinstance(each, str)} - used

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Frames of a VLAN that is missing go nowhere."""
        net = seen.names.net(domain(m.setting.key))
        if isinstance(m.observed, dict) and "joins" in m.observed:
            nets = seen.names.nets(VlanSet.parse(m.observed["joins"]))
            return exposure("joins", bridge=net, device=seen.device, nets=nets)
        if m.setting.field:
            return upkeep("name", net=net, device=seen.device, found=m.observed or "not set")
        if m.kind == "absent":
            return outage("absent", net=net, device=seen.device)
        return upkeep("unplanned", net=net, device=seen.device)


def _observed(topology: Topology, evidence: Evidence) -> dict[Domain, Vlan]:
    """Return the VLANs that are declared, those that exist by being used, and the bridges that have no number."""
    platform, layer2, interfaces = topology.platform, topology.layer2, topology.interfaces
    found: dict[Domain, Vlan] = {}
    for vid, declared in layer2.declared.items():
        found[vid] = Vlan(name=declared.name or vlan_name(platform.vlans, vid))
        evidence.note("vlans", vid, declared.row, {"": ("vlan_ids", "index")})
        evidence.note("vlans", vid, declared.named_by, {"name": ("name",)})
    for interface in interfaces.devices.values():
        vid = int(interface.vid or 0)
        if vid in found and interface.vlan_name:
            found[vid] = Vlan(name=interface.vlan_name)
            evidence.note("vlans", vid, interface, {"name": ("vlan_name",)})
    for interface in interfaces.devices.values():
        idle = not interface.enabled and layer2.unused(interface)
        uses: dict[FieldName, str] = {"vlan_tag": "" if idle else interface.vlan_tag}
        if platform.bridging.by_use and interface.admits != "tagged" and layer2.counts(interface):
            uses["untagged_vlan"] = interface.untagged_vlan
        for name, told in uses.items():
            vid = int(told or 0)
            if vid and vid not in found:
                found[vid] = Vlan()
                evidence.note("vlans", vid, interface, {"": (name,)})
    for vid, ports in layer2.passing().items() if platform.bridging.by_use else ():
        if vid not in found:
            found[vid] = Vlan()
            for port in ports:
                evidence.note("vlans", vid, port, {"": ("tagged_vlans",)})
    for air in layer2.taken_from_the_air() if platform.bridging.by_use else ():
        if air.tag not in found:
            found[air.tag] = Vlan()
            evidence.note("vlans", air.tag, air.row, {"": ("vlan",)})
    for bridge in layer2.plain_bridges():
        of_bridge = layer2.vlan_of(bridge)
        assert of_bridge is not None
        found[of_bridge] = Vlan()
        evidence.note("vlans", of_bridge, bridge, {"": ("members",) if bridge.says("members") else ()})
        for member in interfaces.members(bridge.name):
            if member.vlan_tag and member.says("bridge"):
                evidence.note("vlans", of_bridge, member, {"": ("bridge",)})
            elif member.vlan_tag and bridge.says("members"):
                evidence.note("vlans", int(member.vlan_tag), bridge, {"": ("members",)})
    return found
