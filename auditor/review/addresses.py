"""Rules about prefixes, VLAN ids and the addresses of gateways and devices."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network

from auditor.platforms import catalogue
from auditor.review.rule import Found, Rule, Subject

_PRIVATE = [IPv4Network(text) for text in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")]
_MODEMS = [IPv4Network(text) for text in ("192.168.0.0/24", "192.168.1.0/24")]


def _overlapping(subject: Subject) -> Found:
    known = list(subject.subnets.items())
    for index, (name, subnet) in enumerate(known):
        for other, earlier in known[:index]:
            if subnet.prefix.overlaps(earlier.prefix):
                yield ("subnets", name, "prefix"), f"{subnet.prefix} overlaps {earlier.prefix} of {other}"


def _reserved(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        for reserved in subject.plan.data.reserved:
            if subnet.prefix.overlaps(reserved.prefix):
                why = f": {reserved.why}" if reserved.why else ""
                yield ("subnets", name, "prefix"), f"{subnet.prefix} touches {reserved.prefix}, which is reserved{why}"


def _not_private(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        if not any(subnet.prefix.subnet_of(private) for private in _PRIVATE):
            yield (
                ("subnets", name, "prefix"),
                f"{subnet.prefix} is not a private prefix: its addresses may belong to another network",
            )


def _behind_a_modem(subject: Subject) -> Found:
    behind = any(
        uplink.method == "dhcp" for expected in subject.expected.values() for uplink in expected.state.uplinks.values()
    )
    for name, subnet in subject.subnets.items():
        if behind and any(subnet.prefix.overlaps(modem) for modem in _MODEMS):
            yield (
                ("subnets", name, "prefix"),
                f"{subnet.prefix} behind an uplink with a leased address: many carriers' modems use the same prefix",
            )


def _built_in_vlans(subject: Subject) -> Found:
    for device, expected in subject.expected.items():
        built_in = catalogue.get(expected.platform).vlans.built_in.keys() - {1}
        for vid in sorted(built_in & set(expected.state.vlans)):
            found = subject.plan.subnet_of(vid)
            if found:
                text = f"VLAN {vid} is reserved on {device} ({expected.platform}) and cannot carry a subnet"
                yield ("subnets", found[0], "vlan"), text


def _gateway(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        for key in ("address", "shared"):
            address = getattr(subnet.gateway, key)
            if address is not None and (wrong := no_host(address, subnet.prefix)):
                yield ("subnets", name, "gateway", key), f"{address} {wrong}"


def _device(subject: Subject) -> Found:
    seen: dict[IPv4Address, str] = {}
    for name, device in subject.plan.data.devices.items():
        if device.address is None:
            continue
        here = ("devices", name, "address")
        if device.address in seen:
            yield here, f"{device.address} is already that of {seen[device.address]}"
        seen.setdefault(device.address, name)
        within = [subnet for subnet in subject.subnets.values() if device.address in subnet.prefix]
        if subject.subnets and not within:
            yield here, f"{device.address} is in none of the plan's subnets"
        for subnet in within:
            if wrong := no_host(device.address, subnet.prefix):
                yield here, f"{device.address} {wrong}"


def no_host(address: IPv4Address, prefix: IPv4Network) -> str:
    """Return why an address is none of a prefix's hosts; empty where it is one."""
    if address not in prefix:
        return f"is not in {prefix}"
    if prefix.prefixlen < 31 and address in (prefix.network_address, prefix.broadcast_address):
        kind = "network" if address == prefix.network_address else "broadcast"
        return f"is the {kind} address of {prefix}"
    return ""


RULES = (
    Rule("prefixes-overlap", "error", "No two subnets share addresses.", "RFC 950, section 2.1", _overlapping),
    Rule(
        "prefix-reserved", "error", "No subnet touches a prefix that the plan reserves.", "the plan itself", _reserved
    ),
    Rule("prefix-not-private", "warning", "Subnets have private prefixes.", "RFC 1918, section 3", _not_private),
    Rule(
        "prefix-of-modems", "warning", "No subnet has a prefix of carriers' modems.", "common practice", _behind_a_modem
    ),
    Rule(
        "vlan-built-in",
        "error",
        "No subnet has a VLAN that a device keeps for itself.",
        "IEEE 802.1Q leaves the ids 1002-1005 free; that devices keep them is common practice",
        _built_in_vlans,
    ),
    Rule(
        "gateway-address",
        "error",
        "A gateway's address is a host of its subnet.",
        "RFC 1122, section 3.2.1.3",
        _gateway,
    ),
    Rule(
        "device-address",
        "error",
        "A device's address is a host of one subnet, and its own.",
        "RFC 1122, section 3.2.1.3",
        _device,
    ),
)
