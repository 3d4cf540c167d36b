"""From a plan to what each device should be set to: all areas asked what the plan implies for them."""

from __future__ import annotations

from auditor.areas.expected import Expected
from auditor.areas.planning import Planning
from auditor.areas.rooms import ROOMS, state_of
from auditor.core.state import DeviceState, items_of
from auditor.plan.loader import Plan
from auditor.platforms.gaps import touched, without


def expected_of(plan: Plan) -> dict[str, Expected]:
    """Return what each device of a plan should be set to, in the plan's order."""
    return {name: _expected(Planning(plan, name)) for name in plan.data.devices}


def _expected(planning: Planning) -> Expected:
    planned = state_of({room.name: room.planned(planning) for room in reversed(ROOMS)})
    device, lacks = planning.device, planning.platform.lacks
    lacking = {setting: gap.why for setting, gap in touched(lacks, planned, device.role)}
    state = _without_what_it_lacks(planning, planned)
    return Expected(
        device=planning.name,
        role=device.role,
        platform=device.platform,
        state=state,
        unsaid=frozenset(planning.unsaid),
        carries_all=frozenset(planning.carries_all),
        uplinks=frozenset(name for name, _ in planning.uplinks()),
        ignored_ports=frozenset(name for name, port in planning.ports() if port.ignore),
        address=str(device.address) if device.address else None,
        routed=frozenset(subnet.vlan for subnet in planning.routed.values()),
        unlisted=planning.unlisted,
        passphrases={name: variable for name, variable in planning.passphrases.items() if name in state.ssids},
        prefixes={subnet.prefix: subnet.vlan for subnet in planning.subnets.values()},
        wifi={name: planning.subnets[wifi.subnet].vlan for name, wifi in planning.plan.data.wifi.items()},
        isolation=tuple(planning.isolation),
        lacking={**lacking, **planning.lacking},
    )


def _without_what_it_lacks(planning: Planning, state: DeviceState) -> DeviceState:
    """Take out the settings that the dialect has no notion of, whatever their value."""
    role = planning.device.role
    whole = {place: gap for place, gap in planning.platform.lacks.items() if gap.whole and gap.of_role(role)}
    for place in whole:
        for key in items_of(state, place.area) if place.field else ():
            if place.key in ("", key):
                planning.leave_open(place.area, key, place.field)
    return without(whole, state, role)
