"""What is configured and has no effect: bundles and bridges without ports, what lies on them, gateways in no zone."""

from __future__ import annotations

from auditor.core.domains import Domain
from auditor.core.state import Setting
from auditor.platforms.definition import Platform
from auditor.reading.row_models.row import LAYER3
from auditor.topology.interfaces import Interface, Interfaces
from auditor.topology.layer2 import Layer2
from auditor.topology.system import System
from auditor.topology.zones import Zones


def ineffective(
    platform: Platform, interfaces: Interfaces, layer2: Layer2, system: System, zones: Zones
) -> frozenset[Setting]:
    """Return the ports and gateways that no frame passes, as settings without a field."""
    bundles = _bundles(interfaces, layer2, system.bundle_count)
    found = {Setting("ports", name) for name in bundles}
    only = int(system.only_vlan or 0)
    useless = _gateways(interfaces, layer2, only, zones, bridges=platform.bridging.empty_bridges)
    return frozenset(found | {Setting("gateways", str(vid)) for vid in useless})


def lower_layer_down(interfaces: Interfaces, layer2: Layer2) -> frozenset[Setting]:
    """Return the ports and gateways that are on themselves and down by a lower layer (RFC 2863), without a field."""
    found = {Setting("ports", name) for name in interfaces.members_off}
    for interface in interfaces.all():
        below = interfaces.below(interface)
        if not interface.says_any(LAYER3) or not interface.enabled or below is None or below.enabled:
            continue
        vid = layer2.vlan_of(interface)
        if vid is not None:
            found.add(Setting("gateways", str(vid)))
    return frozenset(found)


def _bundles(interfaces: Interfaces, layer2: Layer2, count: int) -> set[str]:
    """Return the bundles that no port is in, and those that the device is not told to make."""
    listed = {name for name in layer2.members if interfaces.book.tell(name)[0] == "bundle"}
    bundles = {i.name: i for i in interfaces.devices.values() if i.kind == "bundle"}
    parts = {name: interfaces.book.tell(name)[1] for name in bundles}
    beyond = {name for name, told in parts.items() if int(told.get("counted", -1)) >= count}
    empty = {name for name, bundle in bundles.items() if not bundle.members}
    return empty | (listed - bundles.keys()) | beyond


def _gateways(interfaces: Interfaces, layer2: Layer2, only: int, zones: Zones, *, bridges: bool) -> set[Domain]:
    """Return the domains that it is not in itself, whose interfaces lie on bridges without ports or in no zone.

    ``only``: the one VLAN that the device is in, or 0; ``bridges``: whether a bridge that shows no port has none.
    """
    reached: dict[Domain, bool] = {}
    for interface in interfaces.all():
        vid = layer2.vlan_of(interface) if interface.says_any(LAYER3) else None
        if vid is not None:
            works = only in (0, vid) and not (bridges and _on_empty_bridge(interface, interfaces))
            works = works and zones.pass_by(interface)
            reached[vid] = reached.get(vid, False) or works
    return {vid for vid, reaches in reached.items() if not reaches}


def _on_empty_bridge(interface: Interface, interfaces: Interfaces) -> bool:
    """Return whether an interface is a bridge without ports or lies on one."""
    below: Interface | None = interface
    for _ in range(8):
        if below is None:
            return False
        if below.kind == "bridge":
            return not interfaces.members(below.name)
        below = interfaces.below(below)
    return False
