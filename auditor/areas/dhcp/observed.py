"""DHCP scopes by prefix: servers, networks, ranges, exclusions and reservations put together."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from types import MappingProxyType
from typing import TypeVar

from auditor.areas.dhcp.offers import OfferPart, Offers
from auditor.areas.dhcp.pools import added, alone_in, masked_apart, on_several_wires, told_alone, told_apart
from auditor.areas.dhcp.ranges import WithRanges, counted, dropped_of, ranges_of
from auditor.core.addresses import host_range, network, network_key, range_text, subtract_ranges
from auditor.core.state import DhcpScope, Setting
from auditor.platforms.definition import Default, Platform
from auditor.reading.fields import Range
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.dhcp import (
    DhcpExclusionRow,
    DhcpNetworkRow,
    DhcpRangeRow,
    DhcpReservationRow,
    DhcpScopeRow,
)
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row
from auditor.reading.source import Bearing, Ref
from auditor.topology.evidence import Evidence, Later, Noted, ReadingRemark, apply_defaults
from auditor.topology.layer3 import Layer3
from auditor.topology.system import DEFAULT_VRF

_Kept = DhcpScopeRow | DhcpReservationRow
_SECOND = "This is a second server beside the first: check which of them leases addresses, and to whom"
_DHCP = Setting("dhcp")


@dataclass(slots=True)
class _Scope:
    net: IPv4Network
    own: IPv4Address | None
    served_by: DhcpScopeRow
    parts: list[OfferPart] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    ranges_from: list[tuple[WithRanges, tuple[FieldName, ...]]] = field(default_factory=list)
    reservations: dict[str, str] = field(default_factory=dict)
    reserved_by: list[_Kept] = field(default_factory=list)


class ObservedScopes:
    """Builds the scopes that are served.

    ``device``: the servers that the device itself uses, by what they serve. ``by_interface``: in the prefix of an
    interface, a scope is served only if the interface says so; ``blocked`` are those whose requests do not come in.
    ``by_vrf``: it serves the interfaces of its VRF alone.
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
        by_vrf: bool = False,
    ) -> None:
        self._by_interface = by_interface
        self._by_vrf = by_vrf
        self._server = platform.dhcp
        self._layer3 = layer3
        self._rows = read_rows
        with_ends: list[WithRanges] = [*read_rows.dhcp_scope, *read_rows.dhcp_range, *read_rows.dhcp_exclusion]
        self._impossible = [ref for row in with_ends for ref in dropped_of(row)]
        self._networks = _active(read_rows.dhcp_network)
        of_all = {(_vrf(row), name) for row in self._networks if not row.network for name in row.said}
        names = {name for default in defaults for name in default.values}
        self._additions = added(_active(read_rows.dhcp_scope))
        more = [row for rows in self._additions.values() for row in rows]
        for scope in (row for row in read_rows.dhcp_scope if row not in more):
            apply_defaults(defaults, scope, only={name for name in names if (_vrf(scope), name) not in of_all})
        self._named_ranges: dict[str, list[DhcpRangeRow]] = {}
        for named in _active(read_rows.dhcp_range):
            self._named_ranges.setdefault(named.name, []).append(named)
        self._offers = Offers(platform.dhcp, _active(read_rows.dhcp_option), device)
        self._holes = [(hole, row) for row in _active(read_rows.dhcp_exclusion) for hole in ranges_of(row)]
        self._scopes: dict[str, _Scope] = {}
        self._groups: list[DhcpScopeRow] = []
        self.remarks: list[ReadingRemark] = []
        self.blocked: set[Setting] = set()
        servers = [row for row in self._networks if row.says("disabled") and not row.network]
        more_servers = servers[1:] if platform.dhcp.apart else []
        self.overriding: list[tuple[Ref, Bearing]] = [(row.head, Bearing(_SECOND, (_DHCP,))) for row in more_servers]

    def build(self, evidence: Evidence, serving: Callable[[str], bool]) -> dict[str, DhcpScope]:
        """Return the scopes that are served; none of a VRF where the whole service is off."""
        off = {_vrf(row) for row in self._networks if row.disabled and not row.network}
        scopes = [row for row in self._grouped() if _vrf(row) not in off and serving(_vrf(row))]
        for row in scopes:
            if not row.host and row not in self._additions.get((row.vrf, row.name), ()):
                self._serve(row)
        for scope in self._scopes.values():
            shared = [told for told in self._networks if not told.network and _vrf(told) == _vrf(scope.served_by)]
            scope.parts[:0] = [*reversed(shared), *self._told_in(scope.net)]  # what the server itself tells goes before
        for row in (row for row in scopes if row.host):
            nets = [scope.net for scope in self._scopes.values()]
            if net := alone_in(row, self._rows.dhcp_scope, nets, self._layer3):
                self._scopes[network_key(net)] = _Scope(net, None, row)
            self._reserve(row, row.host, row.mac)
        for row in scopes:
            of_it = [scope for scope in self._scopes.values() if row in scope.parts]
            for address, mac in row.reserved:
                self._reserve(row, address, mac, scopes=of_it)
        for kept in _active(self._rows.dhcp_reservation):
            if kept.client and kept.mac and kept.client != kept.mac:
                self._remark(kept, "a DHCP reservation whose client identifier has another MAC address: nobody gets it")
            elif not kept.disabled:
                macs = ", ".join(sorted(kept.macs))
                net = network(kept.network) if kept.network else None
                of_it = [scope for scope in self._scopes.values() if scope.net == net]
                self._reserve(kept, kept.address, macs or kept.mac or kept.client, kept.scope_name, scopes=of_it)
        evidence.ask("dhcp", self._sources)
        found = {key: self._finish(scope) for key, scope in self._scopes.items()}
        self.overriding += on_several_wires(scopes, self._layer3)
        self.overriding += told_alone(scopes, found, self._offers)
        for key, scope in self._scopes.items():
            self.overriding += told_apart(
                key, [row for row, _ in scope.ranges_from], scope.parts, scope.own, self._offers
            )
        return found

    def _told_in(self, net: IPv4Network) -> list[DhcpNetworkRow]:
        """Return the rows that tell what is so in a prefix: those of it, or else of the smallest one around it.

        One of a smaller prefix holds for some of its clients alone, and a mask of another prefix for none.
        """
        by_net = [(network(told.network), told) for told in self._networks if told.network]
        around = [part for part, _ in by_net if net.subnet_of(part)]
        if not around:
            return []
        self._impossible += [ref for part, told in by_net if part != net and part.subnet_of(net) for ref in told.at()]
        nearest = max(around, key=lambda part: part.prefixlen)
        found = [told for part, told in by_net if part == nearest]
        wrong = [told for told in found if told.prefix_length not in (0, net.prefixlen) and nearest == net]
        self._impossible += [ref for told in wrong for ref in told.at("prefix_length")]
        return found

    def interfaces(self) -> dict[str, str]:
        """Return by its key the interface that serves a scope, where it is said."""
        return {key: scope.served_by.interface for key, scope in self._scopes.items() if scope.served_by.interface}

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
        if self._server.mask_said and not row.netmask:
            self._remark(row, "a DHCP scope that says no mask: it is served nowhere")
            return
        if self._server.interface_said and not name:
            self._remark(row, "a DHCP scope that says no interface: it is served nowhere")
            return
        if net is None:
            self._remark(row, "a DHCP scope whose prefix nothing here tells: it is served nowhere")
            if row.name and any(other.name == row.name and other.network for other in self._rows.dhcp_scope):
                self._impossible += row.at()
            return
        if row.vrf and not self._layer3.is_in(net, row.vrf):
            self._remark(row, "a DHCP scope of another VRF than its subnet: it is served nowhere")
            return
        if own is None and self._server.own and not name:
            own = self._layer3.own_in(net)
        everywhere = not self._by_interface or row.everywhere
        if not self._layer3.serves_dhcp(net, everywhere=everywhere):
            if not self._layer3.serves_dhcp(net, everywhere=True):
                self.blocked.add(Setting("dhcp", network_key(net)))
            self._remark(row, "a DHCP scope whose interface does not serve DHCP")
            return
        if self._by_vrf and self._layer3.vrf_in(net) not in (None, row.vrf):
            self._remark(row, "a DHCP scope of another VRF than the interface in its prefix")
            return
        scope = self._scopes.setdefault(network_key(net), _Scope(net, own.ip if own else None, row))
        if scope.served_by is not row and self._server.once:
            self._impossible += row.at("network")
        self.overriding += masked_apart(row, network_key(net))
        scope.parts += [each for each in self._groups if row.group and each.group == row.group]
        scope.parts += [row, *self._additions.get((row.vrf, row.name), ())]
        self._give_out(scope, row)

    def _give_out(self, scope: _Scope, row: DhcpScopeRow) -> None:
        """Add the addresses that a statement gives out in a scope."""
        net = scope.net
        itself = row.says("ranges") or (row.start is None and ranges_of(row))
        given: Sequence[WithRanges] = [row] if itself else self._chained(row.pool_name)
        if given:
            for part in given:
                scope.ranges.extend(ranges_of(part))
                scope.ranges_from.append((part, ("ranges", "first", "last")))
        elif row.start is not None:
            scope.ranges_from.append((row, ("first", "last", "start", "limit")))
            given_out = counted(net, row, row.start)
            if given_out[0] <= given_out[1]:
                scope.ranges.append(given_out)
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
        found = [first for first, _ in ranges_of(row)] + kept + told
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

    def _reserve(self, row: _Kept, address: str, mac: str, only: str = "", scopes: Collection[_Scope] = ()) -> None:
        """Keep an address in the scope that it is in; ``only`` names the one that keeps it, where there is one.

        ``scopes``: those that can keep it; all, if none.
        """
        if not address or not mac:
            self._remark(row, "a DHCP reservation without an address or a MAC address")
            return
        ip = IPv4Address(address)
        for scope in scopes or self._scopes.values():
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
            lease_seconds=min(filter(None, (offer.lease_seconds, offer.lease_most)), default=None),
            options=offer.options,
            reservations=dict(sorted(scope.reservations.items())),
        )

    def _holes_in(self, scope: _Scope) -> list[tuple[Range, DhcpExclusionRow]]:
        first, last = int(scope.net.network_address), int(scope.net.broadcast_address)
        vrf = scope.served_by.vrf
        holes = ((hole, row) for hole, row in self._holes if row.vrf == vrf)
        return [(hole, row) for hole, row in holes if hole[0] <= last and hole[1] >= first]

    def _sources(self, key: str) -> list[Noted]:
        """Return where the settings of a scope were read."""
        scope = self._scopes.get(key)
        if scope is None:
            return []
        noted: list[Noted] = [(scope.served_by, {"": ()})]
        noted += [(row, {"pools": names}) for row, names in scope.ranges_from]
        noted += [(row, {"pools": ("ranges",)}) for _, row in self._holes_in(scope)]
        kept: tuple[FieldName, ...] = ("address", "host", "mac", "macs", "client", "reserved")
        noted += [(row, {"reservations": kept}) for row in scope.reserved_by]
        own = scope.served_by.interface
        noted.append((Later(lambda: self._layer3.lines_of_address(own)), dict.fromkeys(self._server.own, ())))
        for part in scope.parts:
            noted += self._offers.sources(part)
        return noted


R = TypeVar("R", bound=Row)


def _active(rows: Iterable[R]) -> list[R]:
    return [row for row in rows if not row.inactive]


def _vrf(row: OfferPart) -> str:
    return row.vrf or DEFAULT_VRF


def _name(row: OfferPart) -> str:
    return row.name if isinstance(row, DhcpScopeRow) else ""
