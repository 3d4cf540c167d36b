"""Pools that say more than their own: blocks of one name, and hosts that are told something else than their network."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from ipaddress import IPv4Address, IPv4Network

from auditor.areas.dhcp.offers import OfferPart, Offers
from auditor.core.addresses import interface_address, network, network_key
from auditor.core.state import DhcpScope, Setting
from auditor.reading.row_models.dhcp import DhcpScopeRow
from auditor.reading.row_models.row import Row
from auditor.reading.source import Bearing, Ref
from auditor.topology.evidence import Sources
from auditor.topology.layer3 import Layer3

_ALONE = "this host is told something else than the others of its network: check whether it should be"
_OTHER_MASK = "the clients of this range are told another mask than those of the pool's last one: check which is right"
_APART = "this prefix has several pools, and their clients are told different things: check who gets which"
_ONE_WIRE = (
    "these prefixes are told to be on one wire, and are not: clients may get an address of the other; give each a "
    "shared network of its own"
)
_COMPARED = ("gateway", "dns", "domain", "lease_seconds", "options")
"""What the clients of all pools of a prefix are told alike."""
_OFFERED: Sources = {
    "mask": ("netmask",),
    "gateway": ("gateway",),
    "dns": ("dns",),
    "domain": ("domain",),
    "options": ("options", "wins"),
}
"""By setting, the values of a row that tell it."""


def added(rows: Iterable[DhcpScopeRow]) -> dict[tuple[str, str], list[DhcpScopeRow]]:
    """Return by VRF and name the rows that are further blocks of a pool: another one of its name has the prefix."""
    rows = [row for row in rows if row.name and not row.host]
    whole = {(row.vrf, row.name) for row in rows if _whole(row)}
    found: dict[tuple[str, str], list[DhcpScopeRow]] = {}
    for row in rows:
        if not _whole(row) and (row.vrf, row.name) in whole:
            found.setdefault((row.vrf, row.name), []).append(row)
    return found


def _whole(row: DhcpScopeRow) -> bool:
    """Return whether a row tells its prefix: as one, or by a range and a mask."""
    return bool(row.network or (row.first and (row.netmask or row.range_masks)))


def alone_in(
    row: DhcpScopeRow, rows: Iterable[DhcpScopeRow], served: Iterable[IPv4Network], layer3: Layer3
) -> IPv4Network | None:
    """Return the network of an interface that the pool of one host is for, where no other pool is for that network."""
    net, host = layer3.net_of(IPv4Address(row.host)), IPv4Address(row.host)
    pools = (network(pool.network) for pool in rows if pool.network)
    if not net or any(host in known for known in (*pools, *served)):
        return None
    return net if layer3.serves_dhcp(net, everywhere=True) else None


def told_alone(
    rows: Iterable[DhcpScopeRow], scopes: Mapping[str, DhcpScope], offers: Offers
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which one host is told something else than the scope says that its address is in."""
    nets = {key: IPv4Network(key) for key in scopes}
    for row in rows:
        key = next((key for key, net in nets.items() if row.host and IPv4Address(row.host) in net), None)
        if key is None:
            continue
        scope, own, length = scopes[key], offers.of([row], None), nets[key].prefixlen
        others = {
            "mask": bool(row.netmask) and interface_address(f"0.0.0.0 {row.netmask}").network.prefixlen != length,
            "gateway": bool(own.gateway) and own.gateway != scope.gateway,
            "dns": bool(own.dns) and own.dns != scope.dns,
            "domain": bool(own.domain) and own.domain != scope.domain,
            "options": any(scope.options.get(code) != value for code, value in own.options.items()),
        }
        bearing = Bearing(_ALONE, (Setting("dhcp", field="reservations"),), key=key)
        for ref in (ref for name, other in others.items() if other for ref in row.at(*_OFFERED[name])):
            yield ref, bearing


def masked_apart(row: DhcpScopeRow, key: str) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which ranges of a scope have another mask than the last, which counts for the scope."""
    bearing = Bearing(_OTHER_MASK, (Setting("dhcp"),), key=key)
    lines = zip(row.range_masks, row.refs("range_masks"), strict=False)
    yield from ((ref, bearing) for mask, ref in lines if mask != row.range_masks[-1])


def on_several_wires(rows: Iterable[DhcpScopeRow], layer3: Layer3) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the first lines of scopes that are told to share a network, and whose interfaces are not the same."""
    groups: dict[str, list[tuple[DhcpScopeRow, IPv4Network, frozenset[str]]]] = {}
    for row in rows:
        if row.group and row.network and (net := network(row.network)):
            on = frozenset(interface.name for interface in layer3.interfaces_in(net))
            groups.setdefault(row.group, []).append((row, net, on))
    for scopes in groups.values():
        homes = [on for _, _, on in scopes if on]
        apart = bool(homes) and not frozenset.intersection(*homes)
        bearings = ((row.head, Bearing(_ONE_WIRE, (Setting("dhcp"),), key=network_key(net))) for row, net, _ in scopes)
        yield from bearings if apart else ()


def told_apart(
    key: str, giving: Sequence[Row], parts: Sequence[OfferPart], own: IPv4Address | None, offers: Offers
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the first lines of pools of one prefix whose clients are told different things.

    ``giving``: the rows that have addresses of their own; the other parts of the scope tell all clients.
    """
    ranged = [part for part in parts if isinstance(part, DhcpScopeRow) and part in giving]
    alone = [(row, offers.of([part for part in parts if part is row or part not in ranged], own)) for row in ranged]
    differing = [
        name for name in _COMPARED if any(getattr(told, name) != getattr(alone[0][1], name) for _, told in alone)
    ]
    bearing = Bearing(_APART, tuple(Setting("dhcp", field=name) for name in differing), key=key)
    yield from ((row.head, bearing) for row, _ in alone if differing and row.head.line)
