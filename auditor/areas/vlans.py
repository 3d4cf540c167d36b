"""The VLANs that exist on a device, and their names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, outage, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair, shown
from auditor.areas.planning import Planning
from auditor.core.domains import Domain, domain, numbers
from auditor.core.state import Setting, Vlan
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
        "unplanned": "{net} exists on {device} but is not planned there",
    }

    def planned(self, planning: Planning) -> dict[int, Vlan]:
        """Return the VLANs that all other areas need."""
        subnets = {vid: planning.plan.subnet_of(vid) for vid in sorted(planning.vlans)}
        return {vid: Vlan(name=found[0] if found else None) for vid, found in subnets.items()}

    def observed(self, seen: Observation) -> dict[int, Vlan]:
        """Return the VLANs that are declared, and those that exist by being used."""
        return _observed(seen.topology, seen.evidence)

    def shown(self, topology: Topology, answered: bool) -> bool:
        """Where VLANs may live outside of the configuration, it shows them if it declares one that must be there."""
        table, known = topology.platform.vlans, {*topology.layer2.declared, *topology.layer2.off}
        if not table.shown_by:
            return answered
        declared = not topology.switching or topology.system.vlans_shown or bool(table.shown_by & known)
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
        which no line numbers.
        """
        observed, wanted, table = pair.observed, pair.expected.state.vlans, pair.platform.vlans
        untagged = {port.untagged for port in observed.ports.values()}
        used = {*observed.gateways, *untagged} if pair.platform.bridging.by_use else set()
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

    def _names_of_used(self, pair: Pair) -> None:
        """A VLAN that is there only by being used has no name on that device, so none is expected."""
        wanted = pair.expected.state.vlans
        nameless = {vid for vid, vlan in pair.observed.vlans.items() if vlan.name is None and vid in wanted}
        if any(wanted[vid].name for vid in nameless):
            pair.expect(vlans={vid: Vlan() if vid in nameless else vlan for vid, vlan in wanted.items()})

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:
        """A built-in VLAN is there of itself, and the carrier's VLANs are the carrier's business."""
        of_itself = {*pair.platform.vlans.built_in, *pair.carrier_vlans}
        return {key: item for key, item in items.items() if domain(key) not in of_itself}

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Frames of a VLAN that is missing go nowhere."""
        net = seen.names.net(domain(m.setting.key))
        if m.setting.field:
            return upkeep("name", net=net, device=seen.device, found=m.observed or "not set")
        if m.kind == "absent":
            return outage("absent", net=net, device=seen.device)
        return upkeep("unplanned", net=net, device=seen.device)


def _observed(topology: Topology, evidence: Evidence) -> dict[int, Vlan]:
    """Return the VLANs that are declared, and those that exist by being used."""
    platform, layer2, interfaces = topology.platform, topology.layer2, topology.interfaces
    found = {}
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
        uses: dict[FieldName, str] = {"vlan_tag": interface.vlan_tag}
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
    return found
