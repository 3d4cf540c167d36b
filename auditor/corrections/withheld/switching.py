"""Changes of ports, VLANs and services that would cut off the person working on the device, or what still uses them."""

from __future__ import annotations

import re
from collections.abc import Iterator

from auditor.core.domains import in_order
from auditor.core.state import Setting
from auditor.corrections.change import Change, carried
from auditor.corrections.withheld.context import DeviceContext, how_carried
from auditor.corrections.withheld.words import say


def why(context: DeviceContext, changes: list[Change]) -> Iterator[str]:
    """Yield the reasons why some changes, brought about together, are withheld; the first is the finding's own."""
    if all(change.setting.area == "management" for change in changes):
        yield from _services(changes[0])
    for change in changes:
        if change.setting.area == "ports" and change.before and change.item:
            yield from _way_in(context, change)
            yield from _addressed_port(context, change)
        elif change.setting.area == "vlans" and change.item is None:
            yield from _used_vlan(context, change, changes)


def routing(context: DeviceContext) -> str:
    """Return why routing is not switched on: the default gateway would stop to count, and nothing takes its place."""
    there = [way for way in context.ways_out if _is_stale(context, way.line)]
    if there and len(there) == len(context.ways_out):
        return say("routing", device=context.position.device)
    return ""


def _is_stale(context: DeviceContext, line: str) -> bool:
    return any(re.fullmatch(pattern, line) for pattern in context.rules.routing_caution)


def _way_in(context: DeviceContext, change: Change) -> Iterator[str]:
    """A port by which the management comes is switched off, or carries its VLAN otherwise than now."""
    before, item, port = change.before, change.item, str(change.key)
    used = context.managed_in & carried(before)
    negotiates = before.mode == "dynamic" and bool(context.managed_in)
    if not before.enabled or not (used or negotiates) or not context.may_lead_in(port, used or context.managed_in):
        return
    device = context.position.device
    if not item.enabled:
        yield say("way in off", device=device, port=port)
    for vid in in_order(used):
        if how_carried(vid, before) != how_carried(vid, item):
            yield say("way in vlan", device=device, port=port, vid=vid)
    if before.mode != item.mode and not context.rules.candidate:
        yield say("way in mode", device=device, port=port)


def _addressed_port(context: DeviceContext, change: Change) -> Iterator[str]:
    """A port that has an address of its own becomes a switched one, or is switched off."""
    before, item, place = change.before, change.item, Setting("uplinks", str(change.key))
    off, switched = before.enabled and not item.enabled, before.mode == "routed" != item.mode
    own = place in (context.own_places or context.addressed)
    if off and own and context.position.address:
        yield say("way in off", device=context.position.device, port=change.key)
    if (switched and place in context.addressed) or ((switched or off) and context.addressed_port(str(change.key))):
        yield say("port address", port=change.key)


def _used_vlan(context: DeviceContext, change: Change, changes: list[Change]) -> Iterator[str]:
    """A VLAN goes while something is in it that the same commands leave there."""
    vid, state, judged = change.key, context.pair.observed, context.pair.expected.state.ports
    after = {each.setting.item: each.item for each in changes}
    for name, port in state.ports.items():
        left = after.get(Setting("ports", name), port)
        tagged = name not in judged and vid in left.tagged
        if left.enabled and (tagged or vid in (left.untagged, left.voice)):
            yield say("vlan in use", user=f"port {name}", vid=vid)
    if vid in state.gateways and after.get(Setting("gateways", str(vid)), state.gateways[vid]):
        yield say("vlan in use", user="an interface with an address", vid=vid)
    for name, ssid in state.ssids.items():
        left_in = after.get(Setting("ssids", name), ssid)
        if left_in and vid in (left_in.vlan if isinstance(left_in.vlan, tuple) else (left_in.vlan,)):
            yield say("vlan in use", user=f"Wi-Fi {name!r}", vid=vid)


def _services(change: Change) -> Iterator[str]:
    """SNMP is switched on, or no way to log in remains."""
    if change.setting == Setting("management", "", "snmp") and change.item.snmp:
        yield say("snmp")
    if change.setting == Setting("management", "", "logins"):
        now, new = set(change.before.logins or ()), set(change.item.logins or ())
        if now and not now & new:
            yield say("logins", now=", ".join(sorted(now)), new=" or ".join(sorted(new)) or "another way")
