"""Rules about functions: what is planned on a device exists on its platform."""

from __future__ import annotations

from auditor.core.state import Setting
from auditor.plan.schema import Device
from auditor.review.rule import Found, KeyPath, Rule, Subject

_LABELS = (Setting("vlans", "", "name"), Setting("ports", "", "description"))
"""What people call things: no function hangs on it."""


def _functions(subject: Subject) -> Found:
    for device, expected in subject.expected.items():
        for setting, why in expected.lacking.items():
            if setting._replace(key="") in _LABELS:
                continue
            path = _path(subject, device, setting)
            if path is not None:
                yield path, f"{device} ({expected.platform}): {why}"


def _path(subject: Subject, device: str, setting: Setting) -> KeyPath | None:
    """Return where a setting is planned; ``None`` where that is for all devices that have it."""
    entry, area, field = subject.plan.data.devices[device], setting.area, setting.field
    match area:
        case "ssids":
            wifi = subject.plan.data.wifi[setting.key]
            return ("wifi", setting.key, *((field,) if field else ("on", wifi.on.index(device))))
        case "gateways" | "dhcp":
            return _subnet(subject, setting)
        case "management":
            own = getattr(entry.management, field, None)
            whole = setting not in subject.expected[device].settings
            return ("devices", device, area, field) if own else None if whole else (area, field)
    return ("devices", device, "ports", _written(subject, device, entry, setting.key), *_KEYS.get((area, field), ()))


_KEYS = {("ports", "voice"): ("voice",), ("uplinks", ""): ("uplink",), ("uplinks", "method"): ("uplink",)}
"""By area and field of a port, the key of its entry that plans it."""


def _subnet(subject: Subject, setting: Setting) -> KeyPath:
    """Return the entry of a subnet that plans one of its gateway's or its DHCP server's settings."""
    for name, subnet in subject.subnets.items():
        if setting.key in (str(subnet.vlan), str(subnet.prefix)):
            key = "gateway" if setting.field in ("", "addresses", "shared_addresses") else "dhcp"
            return ("subnets", name, "dhcp" if setting.area == "dhcp" else key)
    return ("subnets",)


def _written(subject: Subject, device: str, entry: Device, port: str) -> str:
    """Return the key of a port's entry, which may be a range."""
    planned = subject.plan.ports[device].get(port)
    return next((key for key, each in entry.ports.items() if each is planned), port)


RULES = (
    Rule(
        "function-missing",
        "error",
        "What is planned on a device exists on its platform.",
        "common practice",
        _functions,
    ),
)
