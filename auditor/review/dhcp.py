"""Rules about DHCP scopes, reservations and relays."""

from __future__ import annotations

from auditor.core.addresses import merge_ranges
from auditor.review.addresses import no_host
from auditor.review.rule import Found, Rule, Subject


def _outside(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        for pool in subnet.dhcp.pool if subnet.dhcp else ():
            for address in pool:
                if wrong := no_host(address, subnet.prefix):
                    yield ("subnets", name, "dhcp", "pool"), f"{address} {wrong}"


def _holding(subject: Subject) -> Found:
    devices = {device.address: name for name, device in subject.plan.data.devices.items() if device.address}
    for name, subnet in subject.subnets.items():
        if subnet.dhcp is None:
            continue
        taken = {**devices, **dict.fromkeys(subject.gateways(subnet), "the gateway")}
        for first, last in subnet.dhcp.pool:
            for address, owner in taken.items():
                if first <= address <= last:
                    yield ("subnets", name, "dhcp", "pool"), f"{first}-{last} holds {address} of {owner}"


def _too_small(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        if subnet.dhcp is None or not subnet.dhcp.pool or not subnet.terminals:
            continue
        count = sum(int(last) - int(first) + 1 for first, last in merge_ranges(subnet.dhcp.pool))
        if count < subnet.terminals:
            length = 32 - max(2, (subnet.terminals + 3 - 1).bit_length())
            fits = f"a /{length} would do" if length < subnet.prefix.prefixlen else f"{subnet.prefix} has room for them"
            text = f"{count} addresses for {subnet.terminals} terminals: {fits}"
            yield ("subnets", name, "dhcp", "pool"), text


def _reservations(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        for address in subnet.dhcp.reservations if subnet.dhcp else ():
            here = ("subnets", name, "dhcp", "reservations", str(address))
            if wrong := no_host(address, subnet.prefix):
                yield here, f"{address} {wrong}"
            elif address in subject.gateways(subnet):
                yield here, f"{address} is the gateway's"


def _relays(subject: Subject) -> Found:
    for name, subnet in subject.subnets.items():
        for server in subnet.dhcp.relay if subnet.dhcp else ():
            here = ("subnets", name, "dhcp", "relay")
            if server in subnet.prefix:
                yield here, f"{server} is in {subnet.prefix} itself: a relay leads to a server in another subnet"
            for other in subject.subnets.values():
                if server in other.prefix and (wrong := no_host(server, other.prefix)):
                    yield here, f"{server} {wrong}"


def _missing(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        subnet = subject.subnets[wifi.subnet]
        if subnet.dhcp is None or subnet.dhcp.none:
            yield ("wifi", ssid, "subnet"), f"{wifi.subnet} has no DHCP: clients of {ssid!r} get no address"


RULES = (
    Rule("pool-outside", "error", "A pool is made of hosts of its subnet.", "RFC 2131, section 4.3.1", _outside),
    Rule("pool-holds-device", "error", "A pool holds no address that a device has.", "RFC 2131, section 2.2", _holding),
    Rule(
        "pool-too-small",
        "warning",
        "A pool has an address for every expected terminal.",
        "RFC 1878 (sizes of prefixes)",
        _too_small,
    ),
    Rule(
        "reservation-outside",
        "error",
        "A reservation is a host of its subnet, and free.",
        "RFC 2131, section 4.3.1",
        _reservations,
    ),
    Rule("relay-address", "error", "A relay leads to a host of another subnet.", "RFC 1542, section 4.1", _relays),
    Rule("dhcp-missing", "warning", "A subnet with Wi-Fi has DHCP.", "common practice", _missing),
)
