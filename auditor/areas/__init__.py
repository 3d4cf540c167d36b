"""All that is known of an area, one room each: what a plan implies, how it is compared, what a mismatch does to whom.

``ROOMS`` is the list of rooms, and the only one; whoever goes through the areas goes through it.
"""

from __future__ import annotations

from auditor.areas.area import Area, Impact, Mismatch, Sentence, Sighting, Verdict
from auditor.areas.dhcp import Dhcp
from auditor.areas.expected import Expected, is_there
from auditor.areas.gateways import Gateways
from auditor.areas.hostname import Hostname
from auditor.areas.isolation import Isolation
from auditor.areas.management import Management
from auditor.areas.names import SiteNames
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning, gateway_address
from auditor.areas.ports import Ports
from auditor.areas.ssids import Ssids
from auditor.areas.uplinks import Uplinks
from auditor.areas.vlans import Vlans
from auditor.core.state import KEYED_AREAS, DeviceState, items_of
from auditor.plan.loader import Plan

ROOMS: tuple[Area, ...] = (
    Hostname(),
    Vlans(),
    Ports(),
    Gateways(),
    Dhcp(),
    Ssids(),
    Uplinks(),
    Management(),
    Isolation(),
)
"""In the order of reports."""
_BY_NAME = {room.name: room for room in ROOMS}

__all__ = [
    "ROOMS",
    "Area",
    "Expected",
    "Impact",
    "Mismatch",
    "Pair",
    "Sentence",
    "Sighting",
    "SiteNames",
    "Verdict",
    "expected_of",
    "gateway_address",
    "is_there",
    "room",
]


def room(area: str) -> Area:
    """Return the room of an area."""
    return _BY_NAME[area]


def expected_of(plan: Plan) -> dict[str, Expected]:
    """Return what each device of a plan should be set to, in the plan's order."""
    return {name: _expected(Planning(plan, name)) for name in plan.data.devices}


def _expected(planning: Planning) -> Expected:
    said = {room.name: room.planned(planning) for room in reversed(ROOMS)}
    state = DeviceState(**{area: items for area, items in said.items() if items is not None})
    device = planning.device
    return Expected(
        device=planning.name,
        role=device.role,
        platform=device.platform,
        state=_without_what_it_lacks(planning, state),
        unsaid=frozenset(planning.unsaid),
        carries_all=frozenset(planning.carries_all),
        uplinks=frozenset(name for name, _ in planning.uplinks()),
        ignored_ports=frozenset(name for name, port in planning.ports() if port.ignore),
        address=str(device.address) if device.address else None,
        routed=frozenset(subnet.vlan for subnet in planning.routed.values()),
        unlisted=planning.unlisted,
        passphrases=planning.passphrases,
        isolation=tuple(planning.isolation),
    )


def _without_what_it_lacks(planning: Planning, state: DeviceState) -> DeviceState:
    """Take out the settings that the dialect has no notion of."""
    for lacking in planning.platform.lacks:
        if lacking.area not in KEYED_AREAS or not lacking.field:
            continue
        bare = KEYED_AREAS[lacking.area].model_fields[lacking.field].default
        for key in items_of(state, lacking.area):
            planning.leave_open(lacking.area, key, lacking.field)
        items = getattr(state, lacking.area).items()
        changed = {key: item.model_copy(update={lacking.field: bare}) for key, item in items}
        state = state.model_copy(update={lacking.area: changed})
    return state
