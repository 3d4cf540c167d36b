"""The VLANs that exist on a device, and their names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, outage, upkeep
from auditor.areas.pair import Pair, shown
from auditor.areas.planning import Planning
from auditor.core.domains import Domain, domain, numbers
from auditor.core.state import Setting, Vlan
from auditor.platforms.names import vlan_name


class Vlans(Area):
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
        return {vid: self._planned(planning, vid) for vid in sorted(planning.vlans)}

    def _planned(self, planning: Planning, vid: int) -> Vlan:
        if vid in planning.platform.vlans.lasting_names:
            planning.leave_open(self.name, vid, "name")
            return Vlan()
        found = planning.plan.subnet_of(vid)
        return Vlan(name=found[0] if found else None)

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
        used = {*observed.gateways, *(port.untagged for port in observed.ports.values())} if table.by_use else set()
        there = (table.built_in - pair.reading.vlans_off) | used
        silent: dict[Domain, Vlan] = {
            vid: Vlan(name=vlan_name(table, vid))
            for vid in numbers(wanted)
            if vid in there and vid not in observed.vlans
        }
        if silent:
            pair.observe(vlans={**observed.vlans, **silent})
        vlans = pair.observed.vlans
        unnamed = {vid for vid, name in table.built_in_names.items() if vid in vlans and vlans[vid].name == name}
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
