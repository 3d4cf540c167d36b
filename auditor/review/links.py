"""Rules about links: both ends agree, and every device and VLAN has a way to its gateway."""

from __future__ import annotations

from auditor.core.domains import Domain
from auditor.review.rule import Found, Rule, Subject

_MANY = 250
"""Terminals beyond which a core switch should route."""


def _kinds(subject: Subject) -> Found:
    for number, *ends in subject.links:
        for index, end in enumerate(ends):
            port = subject.port(end)
            if port is not None and not port.enabled:
                yield ("links", number, index), f"{' '.join(end)} is planned as off, but this link needs it"


def _trunks(subject: Subject) -> Found:
    for number, one, other in subject.links:
        first, second = subject.port(one), subject.port(other)
        if first is None or second is None or not (first.enabled and second.enabled):
            continue
        for here, there in ((one, other), (other, one)):
            missing = subject.carried(here) - subject.carried(there)
            if missing:
                names = ", ".join(subject.name_of(vid) for vid in sorted(missing))
                yield ("links", number), f"{' '.join(here)} carries {names}, and {' '.join(there)} does not"


def _natives(subject: Subject) -> Found:
    for number, one, other in subject.links:
        first, second = subject.port(one), subject.port(other)
        if first is None or second is None or not (first.enabled and second.enabled):
            continue
        if first.untagged != second.untagged and subject.carried(one) == subject.carried(other):
            sides = [
                f"{' '.join(end)} {_untagged(subject, port.untagged)}" for end, port in ((one, first), (other, second))
            ]
            yield ("links", number), f"untagged is {' and at '.join(sides)}: frames change their VLAN there"


def _untagged(subject: Subject, vid: Domain | None) -> str:
    return subject.name_of(vid) if vid else "nothing"


def _loops(subject: Subject) -> Found:
    group = {device: device for device in subject.plan.data.devices}

    def root(device: str) -> str:
        while group[device] != device:
            device = group[device]
        return device

    for number, one, other in subject.links:
        if root(one[0]) == root(other[0]):
            yield (
                ("links", number),
                f"{one[0]} and {other[0]} are linked already: a loop, unless spanning tree blocks it",
            )
        group[root(one[0])] = root(other[0])


def _cut_off(subject: Subject) -> Found:
    if not subject.links:
        return
    for name, subnet in subject.subnets.items():
        gateway = subject.plan.gateway_of(subnet)
        if gateway is None:
            continue
        for device, expected in subject.expected.items():
            served = [ssid for ssid, wifi in expected.state.ssids.items() if wifi.vlan == subnet.vlan]
            ports = expected.state.ports.items()
            served += [name for name, port in ports if port.mode == "access" and port.untagged == subnet.vlan]
            if served and not subject.network.joined((device, subnet.vlan), (gateway, subnet.vlan)):
                text = f"{name} on {device} has no path over the links to {gateway}, which routes it"
                yield ("devices", device), text


def _alone(subject: Subject) -> Found:
    linked = {end[0] for _, *ends in subject.links for end in ends}
    for device, entry in subject.plan.data.devices.items():
        if linked and device not in linked and entry.ports:
            yield ("devices", device), f"{device} is in no link: the plan does not say how it is connected"


def _devices(subject: Subject) -> Found:
    if not subject.plan.data.devices:
        yield ("devices",), "the plan has no devices, so there is nothing to audit: list them under devices"


def _routing(subject: Subject) -> Found:
    cores = [name for name, device in subject.plan.data.devices.items() if device.role == "core"]
    terminals = sum(subnet.terminals or 0 for subnet in subject.subnets.values())
    routed = {subject.plan.gateway_of(subnet) for subnet in subject.subnets.values()}
    gateways = [name for name, device in subject.plan.data.devices.items() if device.role == "gateway"]
    if cores and terminals > _MANY and routed <= set(gateways):
        routers = ", ".join(sorted(filter(None, routed)))
        text = f"{terminals} terminals, and all is routed by {routers}: let {cores[0]} route"
        yield ("devices", cores[0], "role"), text


RULES = (
    Rule("link-off", "error", "No link uses a port that is off.", "common practice", _kinds),
    Rule(
        "trunk-ends-differ",
        "error",
        "Both ends of a link carry the same VLANs.",
        "IEEE 802.1Q: a frame of a VLAN that a port is no member of is dropped",
        _trunks,
    ),
    Rule(
        "native-ends-differ",
        "error",
        "Both ends of a link have the same untagged VLAN.",
        "IEEE 802.1Q, port VLAN id",
        _natives,
    ),
    Rule("loop", "warning", "The links are a tree.", "IEEE 802.1D: bridges want a tree", _loops),
    Rule(
        "subnet-cut-off",
        "error",
        "Every port and Wi-Fi name has a way to its gateway.",
        "IEEE 802.1Q: a VLAN ends where no port is a member",
        _cut_off,
    ),
    Rule("devices-missing", "error", "A plan has devices.", "the plan itself", _devices),
    Rule("device-alone", "warning", "Every device is in a link, where the plan has links.", "common practice", _alone),
    Rule("core-should-route", "note", "With many terminals the core switch routes.", "common practice", _routing),
)
