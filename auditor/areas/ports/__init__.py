"""Ports and bundles of ports: what the plan has for them, how the two sides are compared, what a mismatch does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting
from auditor.areas.expected import Expected
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.areas.ports import compared, impact, planned
from auditor.areas.ports.observed import ObservedPorts
from auditor.core.service import ServicePath
from auditor.core.state import Port, Setting
from auditor.topology.device import Topology

_VLANS = (
    "interface.access_vlan interface.allowed_vlans interface.tagged_vlans interface.untagged_vlan interface.vlan_tag "
    "interface.vlan_members interface.memberships vlan.tagged_ports vlan.untagged_ports"
)


class PortsArea(Area):
    """A port that is there and not planned is judged by the plan's rule for unlisted ports, or not at all."""

    name = "ports"
    on_paths = ("enabled", "mode", "untagged", "tagged", "voice")
    together = (("mode", "untagged", "tagged"),)
    told_by: ClassVar[Mapping[str, str]] = {
        "enabled": "interface.disabled",
        "mode": _VLANS,
        "untagged": _VLANS,
        "tagged": _VLANS,
        "voice": "interface.voice_vlan interface.phone_vlan interface.voice vlan.voice",
        "description": "interface.description",
    }
    sentences = impact.SENTENCES

    def planned(self, planning: Planning) -> dict[str, Port]:
        """Return the planned ports, but for those that are not judged."""
        planning.unlisted = planned.unlisted(planning)
        return {name: planned.port(planning, name, port) for name, port in planning.ports() if not port.ignore}

    def observed(self, seen: Observation) -> dict[str, Port]:
        """Return the ports that lines say something of."""
        ports = ObservedPorts(seen.topology)
        seen.unknown += ports.unknown()
        found = ports.build(seen.evidence)
        seen.not_shown.update(ports.not_shown)
        return found

    def shows(self, topology: Topology, setting: Setting, answered: bool) -> bool:
        """Where ports are left out at their defaults, a capture that says of one that it is on says it of all."""
        if setting.field == "unlisted" and topology.platform.interfaces.silent == "explicit":
            return answered and any(port.enabled and port.says("disabled") for port in topology.ports)
        return super().shows(topology, setting, answered)

    def align(self, pair: Pair) -> None:
        """Call ports as the plan does, and bring in those that only the plan or only the device lists."""
        compared.align(pair)

    def complete(self, pair: Pair) -> None:
        """``trunk: all`` is judged by the VLANs that exist."""
        compared.trunks_that_carry_all(pair)

    def not_shown(self, expected: Expected, not_shown: Mapping[Setting, str]) -> Mapping[str, str]:
        """A rule for unlisted ports wants a capture that shows every port."""
        every = not_shown.get(Setting(self.name, "", "unlisted"))
        return {"every port": every} if expected.unlisted and every else {}

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:  # noqa: ARG002
        """No port is there too much: the plan's rule for unlisted ports has made planned ones of those it is about."""
        return {}

    def speaks(self, pair: Pair, setting: Setting) -> bool:
        """A port that is planned off but carries something is in use all the same."""
        return setting.field == "enabled" and pair.observed.ports[setting.key].mode != "routed"

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Tell what becomes of what is connected there."""
        return impact.of(m, seen)

    def serves(self, setting: Setting, device: str, path: ServicePath) -> bool:
        """A path begins at its ports."""
        return path.device == device and bool(setting.key) and setting.key in path.places
