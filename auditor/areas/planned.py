"""From a plan to what each device should be set to: all areas asked what the plan implies for them."""

from __future__ import annotations

from auditor.areas.expected import Expected
from auditor.areas.planning import Planning
from auditor.areas.rooms import ROOMS, state_of
from auditor.core.state import KEYED_AREAS, DeviceState, default_of
from auditor.plan.loader import Plan


def expected_of(plan: Plan) -> dict[str, Expected]:
    """Return what each device of a plan should be set to, in the plan's order."""
    return {name: _expected(Planning(plan, name)) for name in plan.data.devices}


def _expected(planning: Planning) -> Expected:
    state = state_of({room.name: room.planned(planning) for room in reversed(ROOMS)})
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
        items = getattr(state, lacking.area)
        without = {key: item for key, item in items.items() if lacking.key in ("", str(key))}
        for key in without:
            planning.leave_open(lacking.area, key, lacking.field)
        changed = {key: item.model_copy(update={lacking.field: default_of(lacking)}) for key, item in without.items()}
        state = state.model_copy(update={lacking.area: {**items, **changed}})
    return state
