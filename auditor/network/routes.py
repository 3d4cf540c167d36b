"""Static routes that lead what was planned into nothing: away from servers, from other subnets, from the carrier."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from typing import NamedTuple

from auditor.areas import Expected
from auditor.core.state import Setting
from auditor.plan.loader import Plan
from auditor.reading.source import Refs
from auditor.topology.interfaces import IPV4
from auditor.topology.routes import Route, Routes

_DISCARDED = "packets to {target} are discarded by this route: check where they are to go"
_UNRESOLVED = (
    "packets to {target} are sent to {hop}, which is in no network of this device: check the address of the next router"
)
_ITSELF = "packets to {target} are sent to {hop}, which is this device itself: check the address of the next router"
_NOBODY = (
    "packets to {target} are sent to {hop}, and nothing in the plan has that address, while {gateway} is planned to "
    "route that subnet: check the address of the next router"
)
_AWAY = (
    "packets to {target}, which is on a network of this device, are sent elsewhere by this route: check where they are "
    "to go"
)
_NO_WAY = "no route of this device leads to {target}: check its routes"
_OUTSIDE = IPv4Address("192.0.2.1")
"""Stands for all that is beyond the carrier: an address that nobody has (RFC 5737)."""


class _Target(NamedTuple):
    address: IPv4Address
    name: str
    setting: Setting
    routed_by: str = ""
    """The other device that is planned to route the subnet that it stands for; empty where it stands for none."""


def misled(
    plan: Plan,
    every: Mapping[str, Expected],
    routes: Mapping[str, Routes],
    lines: Callable[[str, Setting], Refs],
) -> Iterator[tuple[str, Refs, str, Setting]]:
    """Yield device, lines, reason and setting where a route leads what was planned into nothing.

    Args:
        plan: the plan.
        every: of each of its devices, what is planned.
        routes: by device, the static routes that were read.
        lines: returns the lines that a setting of a device was observed in.
    """
    known = _known(plan, every)
    for device, found in routes.items():
        strangers = {
            hop: gateway
            for route in found.every
            for hop in route.hops
            if hop not in known and (gateway := _gateway_at(plan, hop))
        }
        seen: set[tuple[Refs, Setting]] = set()
        at_home = _at_home(plan, every, device)
        for target in _targets(plan, every, device):
            if any(target.address in own.network for own in at_home if not found.connects(own.network)):
                continue  # what is amiss with its own address is told as that
            towards = found.towards(target.address)
            inside = _inside(plan, every, device, target.address)
            certain = target.setting.area == ("uplinks" if every[device].state.uplinks else "management")
            if found.misses(target.address, inside=inside, certain=certain):
                yield device, lines(device, target.setting), _NO_WAY.format(target=target.name), target.setting
            others = {hop: target.routed_by if gateway == device else gateway for hop, gateway in strangers.items()}
            reasons = [_wrong(found, route, target, others, at_home) for route in towards]
            if not reasons or not all(reasons):
                continue
            for route, why in zip(towards, reasons, strict=True):
                if (route.refs, target.setting) not in seen:
                    seen.add((route.refs, target.setting))
                    yield device, route.refs, why, target.setting


def _wrong(
    found: Routes, route: Route, target: _Target, others: Mapping[IPv4Address, str], at_home: Sequence[IPv4Interface]
) -> str:
    """Return why a route does not lead to its target; empty where it may."""
    if route.discards:
        return _DISCARDED.format(target=target.name)
    if found.on_own(target.address) >= 0 and target.address not in route.hops:
        return _AWAY.format(target=target.name)
    if route.out or found.learns or found.leased:
        return ""
    reasons = []
    for hop in route.hops:
        if hop in found.own and any(hop == own.ip for own in at_home):
            reasons.append(_ITSELF.format(target=target.name, hop=hop))
        elif not (found.resolves(hop) or any(hop in own.network for own in at_home)):
            reasons.append(_UNRESOLVED.format(target=target.name, hop=hop))
        elif gateway := others.get(hop):
            reasons.append(_NOBODY.format(target=target.name, hop=hop, gateway=gateway))
    return reasons[0] if len(reasons) == len(route.hops) > 0 else ""


def _inside(plan: Plan, every: Mapping[str, Expected], device: str, address: IPv4Address) -> list[IPv4Network]:
    """Return the subnets that other devices route, where an address is in one and all else goes to an uplink."""
    if not every[device].state.uplinks:
        return []
    subnets = plan.data.subnets.values()
    others = [subnet.prefix for subnet in subnets if plan.gateway_of(subnet) not in (None, device)]
    return others if any(address in prefix for prefix in others) else []


def _at_home(plan: Plan, every: Mapping[str, Expected], device: str) -> list[IPv4Interface]:
    """Return the addresses that a device is planned to have, each with its network."""
    state = every[device].state
    planned = [text for gateway in state.gateways.values() for text in gateway.addresses]
    planned += [text for uplink in state.uplinks.values() for text in uplink.addresses]
    found = [IPv4Interface(text) for text in planned if IPV4.fullmatch(text.partition("/")[0])]
    own = plan.data.devices[device].address
    prefixes = (subnet.prefix for subnet in plan.data.subnets.values() if own and own in subnet.prefix)
    return [*found, *(IPv4Interface(f"{own}/{prefix.prefixlen}") for prefix in prefixes)]


def _gateway_at(plan: Plan, hop: IPv4Address) -> str | None:
    """Return the device that is planned to route the subnet of a next hop; None where it is in none."""
    subnet = next((each for each in plan.data.subnets.values() if hop in each.prefix), None)
    return plan.gateway_of(subnet) if subnet else None


def _known(plan: Plan, every: Mapping[str, Expected]) -> frozenset[IPv4Address]:
    """Return all addresses that the plan gives to somebody."""
    found = {str(device.address).partition("/")[0] for device in plan.data.devices.values() if device.address}
    for expected in every.values():
        state = expected.state
        for gateway in state.gateways.values():
            found |= {*(a.partition("/")[0] for a in gateway.addresses), *gateway.shared_addresses, *gateway.relay_to}
        found |= {(uplink.address or "").partition("/")[0] for uplink in state.uplinks.values()}
        for scope in state.dhcp.values():
            found |= {*(scope.dns or ()), *map(str, (scope.reservations or {}).keys()), scope.gateway or ""}
    return frozenset(IPv4Address(address) for address in found if IPV4.fullmatch(address))


def _targets(plan: Plan, every: Mapping[str, Expected], device: str) -> Iterator[_Target]:
    """Yield what a device has to reach for the plan to hold."""
    state = every[device].state
    for vid, gateway in state.gateways.items():
        at = Setting("gateways", str(vid), "relay_to")
        yield from _addresses(gateway.relay_to, "the DHCP server {}", at)
    for field, name in (("ntp", "the time server {}"), ("dns", "the DNS server {}"), ("syslog", "the log server {}")):
        yield from _addresses(getattr(state.management, field) or (), name, Setting("management", "", field))
    if every[device].role == "gateway" or len(state.gateways) > 1:
        yield from _of_clients(plan, every, device)
    for name, uplink in state.uplinks.items():
        if uplink.method == "static":
            yield _Target(_OUTSIDE, "the carrier", Setting("uplinks", name))


def _of_clients(plan: Plan, every: Mapping[str, Expected], device: str) -> Iterator[_Target]:
    """Yield what the clients of the subnets that a device routes have to reach: subnets of others, DNS servers."""
    own = [subnet for subnet in plan.data.subnets.values() if plan.gateway_of(subnet) == device]
    at = [Setting("gateways", str(subnet.vlan), "addresses") for subnet in own if not subnet.isolated]
    for subnet in plan.data.subnets.values():
        other = plan.gateway_of(subnet)
        if other and other != device and not subnet.isolated:
            expected = every[other].state.gateways.get(subnet.vlan)
            addresses = (*expected.addresses, *expected.shared_addresses) if expected else ()
            fixed = [IPv4Interface(a).ip for a in addresses if a.partition("/")[0].replace(".", "").isdecimal()]
            yield from (_Target(ip, str(subnet.prefix), setting, other) for ip in fixed[:1] for setting in at)
    for prefix, scope in every[device].state.dhcp.items():
        yield from _addresses(scope.dns or (), "the DNS server {}", Setting("dhcp", prefix, "dns"))


def _addresses(texts: Iterable[str], name: str, setting: Setting) -> Iterator[_Target]:
    found = (text for text in texts if IPV4.fullmatch(text))
    yield from (_Target(IPv4Address(text), name.format(text), setting) for text in found)
