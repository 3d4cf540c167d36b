"""What a mismatch of a port does to what is connected there."""

from __future__ import annotations

from collections.abc import Callable

from auditor.areas.area import Impact, Mismatch, Sentence, Sighting, exposure, outage, upkeep
from auditor.core.values import VlanSet

SENTENCES = {
    "absent": "{port} is not in the capture: its settings are unknown",
    "no members": "{port} is a bundle that has no member ports or is not active on the device: it carries no traffic",
    "off": "{port} is switched off: devices connected to it have no connection",
    "on": "{port} is switched on although it should be unused: any device connected to it is in the network",
    "dynamic": "{port} negotiates trunking: a connected device can turn it into a trunk of many VLANs",
    "trunk": "{port} is a trunk: a device connected to it reaches several VLANs",
    "routed": "{port} is a routed port in no VLAN: devices connected to it have no connection",
    "access": "{port} is an access port of one VLAN: the tagged VLANs do not pass it",
    "untagged absent": "{net} does not pass {port} untagged",
    "untagged unplanned": "{net} passes {port} untagged, but no VLAN should",
    "untagged": "{port} puts {what} into {net} instead of {planned}",
    "leaks one": "{nets} passes {port} tagged, but should not",
    "leaks": "{nets} pass {port} tagged, but should not",
    "stops one": "{nets} does not pass {port} tagged",
    "stops": "{nets} do not pass {port} tagged",
    "voice unplanned": "{port} offers {net} as voice VLAN, but none is planned there",
    "voice": "phones at {port} are not in {net}",
    "description": "the description of {port} is {found!r}",
    "no description": "{port} has no description",
}


def of(m: Mismatch, seen: Sighting) -> Impact:
    """Return what a mismatch of a port does."""
    port = f"{seen.device} {m.setting.key}"
    return _IMPACTS[m.setting.field](m, seen, port) if m.setting.field else outage("absent", port=port)


def _enabled(m: Mismatch, seen: Sighting, port: str) -> Impact:
    if not m.expected:
        return exposure("on", port=port)
    return outage("no members" if m.setting.item in seen.ineffective else "off", port=port)


def _mode(m: Mismatch, seen: Sighting, port: str) -> Impact:  # noqa: ARG001 - asked like the others
    opens = m.observed in ("dynamic", "trunk")
    return exposure(m.observed, port=port) if opens else outage(m.observed or "access", port=port)


def _untagged(m: Mismatch, seen: Sighting, port: str) -> Impact:
    names = seen.names
    if m.observed is None:
        return outage("untagged absent", net=names.net(m.expected), port=port)
    if m.expected is None:
        return exposure("untagged unplanned", net=names.net(m.observed), port=port)
    plan = names.plan.ports.get(seen.device, {}).get(m.setting.key)
    what = "devices" if plan is None or plan.access else "untagged frames"
    return exposure("untagged", port=port, what=what, net=names.net(m.observed), planned=names.net(m.expected))


def _tagged(m: Mismatch, seen: Sighting, port: str) -> Impact:
    expected, observed = VlanSet.parse(m.expected or ""), VlanSet.parse(m.observed or "")
    sentences = [
        Sentence(does if len(vids) > 1 else f"{does} one", {"nets": seen.names.nets(VlanSet(vids)), "port": port})
        for does, vids in (("leaks", observed - expected), ("stops", expected - observed))
        if vids
    ]
    return Impact("exposure" if observed - expected else "outage", tuple(sentences))


def _voice(m: Mismatch, seen: Sighting, port: str) -> Impact:
    if m.kind == "unplanned":
        return upkeep("voice unplanned", port=port, net=seen.names.net(m.observed))
    return outage("voice", port=port, net=seen.names.net(m.expected))


def _description(m: Mismatch, seen: Sighting, port: str) -> Impact:  # noqa: ARG001 - asked like the others
    return upkeep("description", port=port, found=m.observed) if m.observed else upkeep("no description", port=port)


_IMPACTS: dict[str, Callable[[Mismatch, Sighting, str], Impact]] = {
    "enabled": _enabled,
    "mode": _mode,
    "untagged": _untagged,
    "tagged": _tagged,
    "voice": _voice,
    "description": _description,
}
