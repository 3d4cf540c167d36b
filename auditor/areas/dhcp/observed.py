"""DHCP scopes by prefix: servers, networks, ranges, exclusions and reservations put together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from types import MappingProxyType
from typing import TypeVar

from auditor.areas.dhcp.offers import OfferPart, Offers
from auditor.core.addresses import host_range, network, network_key, range_text, subtract_ranges
from auditor.core.state import DhcpScope
from auditor.platforms.definition import Default, Platform
from auditor.reading.fields import Range, span
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.dhcp import (
    DhcpExclusionRow,
    DhcpRangeRow,
    DhcpReservationRow,
    DhcpScopeRow,
)
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row
from auditor.reading.source import Ref, Refs
from auditor.topology.evidence import (
    Evidence,
    Later,
    Noted,
    ReadingRemark,
    apply_defaults,
)
from auditor.topology.layer3 import Layer3

_WithRanges = DhcpScopeRow | DhcpRangeRow | DhcpExclusionRow
"""Rows that say ranges: a list of them, or one by its two ends, each on a line of its own."""


@dataclass(slots=True)
class _Scope:
    net: IPv4Network
    own: IPv4Address | None
    served_by: DhcpScopeRow
    parts: list[OfferPart] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    ranges_from: list[tuple[_WithRanges, tuple[FieldName, ...]]] = field(default_factory=list)
    reservations: dict[str, str] = field(default_factory=dict)
    reserved_by: list[DhcpScopeRow | DhcpReservationRow] = field(default_factory=list)


class ObservedScopes:
    """Builds the scopes that are served.

    ``device``: the servers that the device itself uses, by what they serve. ``by_interface``: in the prefix of an
    interface, a scope is served only if the interface says so.
    """

    def __init__(
        self,
        platform: Platform,
        read_rows: ReadRows,
        layer3: Layer3,
        defaults: list[Default],
        device: Mapping[str, Sequence[str]] = MappingProxyType({}),
        *,
        by_interface: bool = False,
    ) -> None:
        self._by_interface = by_interface
        self._server = platform.dhcp
        self._layer3 = layer3
        self._rows = read_rows
        with_ends: list[_WithRanges] = [*read_rows.dhcp_scope, *read_rows.dhcp_range, *read_rows.dhcp_exclusion]
        self._impossible = [ref for row in with_ends for ref in _dropped(row)]
        self._networks = _active(read_rows.dhcp_network)
        of_all = [row.said for row in self._networks if not row.network]
        unsaid = {name for default in defaults for name in default.values if not any(name in said for said in of_all)}
        for scope in read_rows.dhcp_scope:
            apply_defaults(defaults, scope, only=unsaid)
        self._named_ranges: dict[str, list[DhcpRangeRow]] = {}
        for named in _active(read_rows.dhcp_range):
            self._named_ranges.setdefault(named.name, []).append(named)
        self._offers = Offers(platform.dhcp, _active(read_rows.dhcp_option), device)
        self._holes = [(hole, row) for row in _active(read_rows.dhcp_exclusion) for hole in _ranges(row)]
        self._scopes: dict[str, _Scope] = {}
        self._groups: list[DhcpScopeRow] = []
        self.remarks: list[ReadingRemark] = []

    def build(self, evidence: Evidence, serving: bool) -> dict[str, DhcpScope]:
        """Return the scopes that are served; none where the whole service is off."""
        scopes = self._grouped()
        for row in scopes:
            if not row.host:
                self._serve(row)
        for told in self._networks:
            for scope in self._scopes.values():
                if not told.network:
                    scope.parts.insert(0, told)
                elif network(told.network) == scope.net:
                    scope.parts.append(told)
        for row in scopes:
            if row.host:
                self._reserve(row, row.host, row.mac)
            for address, mac in row.reserved:
                self._reserve(row, address, mac)
        for kept in _active(self._rows.dhcp_reservation):
            if not kept.disabled:
                self._reserve(kept, kept.address, kept.mac, kept.scope_name)
        evidence.ask("dhcp", self._sources)
        return {key: self._finish(scope) for key, scope in self._scopes.items()} if serving else {}

    def unknown(self) -> list[Ref]:
        """Return the lines that say what no server can do: a range that runs backwards, a start beyond the prefix."""
        return self._impossible

    def _grouped(self) -> list[DhcpScopeRow]:
        """Return the scopes that are on, but for those of a group that is off; what groups say is kept for them."""
        rows = _active(self._rows.dhcp_scope)
        self._groups = [row for row in rows if row.group and not row.network]
        off = {row.group for row in self._groups if row.disabled}
        served = [row for row in rows if not row.disabled]
        return [row for row in served if not row.group or (row.network and row.group not in off)]

    def _serve(self, row: DhcpScopeRow) -> None:
        """Open the scope that a statement serves, or add to it."""
        name = row.interface
        if name and not self._layer3.is_up(name):
            self._remark(row, "a DHCP scope on an interface that is off: it is served nowhere")
            return
        own = self._layer3.prefix_of(name) if name else None
        if own and row.netmask:
            own = IPv4Interface(f"{own.ip}/{row.netmask}")
        net = network(row.network) if row.network else own.network if own else None
        net = net or (None if name or self._server.prefix_said else self._net_around(row))
        if net is None:
            self._remark(row, "a DHCP scope whose prefix nothing here tells: it is served nowhere")
            return
        everywhere = not self._by_interface or row.everywhere
        if not everywhere and not self._layer3.serves_dhcp(net):
            self._remark(row, "a DHCP scope whose interface does not serve DHCP")
            return
        scope = self._scopes.setdefault(network_key(net), _Scope(net, own.ip if own else None, row))
        scope.parts += [each for each in self._groups if row.group and each.group == row.group]
        scope.parts.append(row)
        itself = row.says("ranges") or (row.start is None and _ranges(row))
        given: Sequence[_WithRanges] = [row] if itself else self._chained(row.pool_name)
        if given:
            for part in given:
                scope.ranges.extend(_ranges(part))
                scope.ranges_from.append((part, ("ranges", "first", "last")))
        elif row.start is not None:
            scope.ranges_from.append((row, ("first", "last", "start", "limit")))
            counted = _counted(net, row, row.start)
            if counted[0] <= counted[1]:
                scope.ranges.append(counted)
            else:
                self._impossible += row.at("first", "last", "start")
                self._remark(row, f"a DHCP scope that begins outside of {net}: it gives out nothing")
        elif self._server.whole_network:
            first, last = host_range(net)
            scope.ranges.append((int(first), int(last)))
            scope.ranges_from.append((row, ("network",)))

    def _net_around(self, row: DhcpScopeRow) -> IPv4Network | None:
        """Return the prefix that the addresses of a scope are in: by its mask, or that of an interface's address."""
        kept = [int(IPv4Address(address)) for address, _ in row.reserved]
        told = [int(IPv4Address(address)) for address in row.gateway if ":" not in address]
        found = [first for first, _ in _ranges(row)] + kept + told
        if found and row.netmask:
            return IPv4Network(f"{IPv4Address(found[0])}/{row.netmask}", strict=False)
        return self._layer3.net_of(IPv4Address(found[0])) if found else None

    def _chained(self, name: str) -> list[DhcpRangeRow]:
        """Return a named set of ranges and those that are used up after it."""
        found: list[DhcpRangeRow] = []
        while (parts := self._named_ranges.get(name)) and parts[0] not in found:
            found += parts
            name = parts[-1].next_name
        return found

    def _reserve(self, row: DhcpScopeRow | DhcpReservationRow, address: str, mac: str, only: str = "") -> None:
        """Keep an address in the scope that it is in; ``only`` names the one that keeps it, where there is one."""
        if not address or not mac:
            self._remark(row, "a DHCP reservation without an address or a MAC address")
            return
        ip = IPv4Address(address)
        for scope in self._scopes.values():
            if ip in scope.net and (not only or only in map(_name, scope.parts)):
                scope.reservations[address] = mac
                scope.reserved_by.append(row)
                return
        self._remark(row, f"a DHCP reservation of {ip}, which is in no scope of this device")

    def _remark(self, row: Row, text: str) -> None:
        self.remarks.append(ReadingRemark(row.head, text))

    def _finish(self, scope: _Scope) -> DhcpScope:
        ranges = subtract_ranges(scope.ranges, [hole for hole, _ in self._holes_in(scope)])
        offer = self._offers.of(scope.parts, scope.own)
        return DhcpScope(
            pools=tuple(range_text(first, last) for first, last in ranges),
            gateway=offer.gateway or None,
            dns=offer.dns,
            domain=offer.domain or None,
            lease_seconds=offer.lease_seconds,
            options=offer.options,
            reservations=dict(sorted(scope.reservations.items())),
        )

    def _holes_in(self, scope: _Scope) -> list[tuple[Range, DhcpExclusionRow]]:
        first, last = int(scope.net.network_address), int(scope.net.broadcast_address)
        return [(hole, row) for hole, row in self._holes if hole[0] <= last and hole[1] >= first]

    def _sources(self, key: str) -> list[Noted]:
        """Return where the settings of a scope were read."""
        scope = self._scopes.get(key)
        if scope is None:
            return []
        noted: list[Noted] = [(scope.served_by, {"": ()})]
        noted += [(row, {"pools": names}) for row, names in scope.ranges_from]
        noted += [(row, {"pools": ("ranges",)}) for _, row in self._holes_in(scope)]
        noted += [(row, {"reservations": ("address", "host", "mac", "reserved")}) for row in scope.reserved_by]
        own = scope.served_by.interface
        noted.append((Later(lambda: self._layer3.lines_of_address(own)), dict.fromkeys(self._server.own, ())))
        for part in scope.parts:
            noted += self._offers.sources(part)
        return noted


R = TypeVar("R", bound=Row)


def _active(rows: Iterable[R]) -> list[R]:
    return [row for row in rows if not row.inactive]


def _name(row: OfferPart) -> str:
    return row.name if isinstance(row, DhcpScopeRow) else ""


def _dropped(row: _WithRanges) -> Refs:
    """Take the ends of a range out of a row where no range lies between them; return the lines that said them."""
    if not (row.first and row.last):
        return ()
    try:
        span(row.first, row.last)
    except ValueError:
        lines = row.at("first", "last")
        del row.first, row.last
        return lines
    return ()


def _ranges(row: _WithRanges) -> list[Range]:
    """Return the ranges that a row says: a list of them, or one by its ends."""
    return [span(row.first, row.last)] if row.first and row.last else list(row.ranges)


def _counted(net: IPv4Network, row: DhcpScopeRow, start: int) -> Range:
    """Return the range from a start to an end or for so many addresses, cut at the network's last host."""
    first = int(IPv4Address(row.first)) if row.first else int(net.network_address) + start
    last = int(IPv4Address(row.last)) if row.last else first + (1 if row.limit is None else row.limit) - 1
    return first, min(last, int(host_range(net)[1]))
