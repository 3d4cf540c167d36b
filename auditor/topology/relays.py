"""DHCP relays that are listed apart from the interfaces: servers in named sets, and the interfaces that use them."""

from __future__ import annotations

from collections.abc import Iterable
from ipaddress import IPv4Interface, IPv4Network, ip_address

from auditor.reading.row_models.dhcp import RelayRow
from auditor.reading.row_models.switching import InterfaceRow
from auditor.reading.row_models.system import RouteRow, SystemRow
from auditor.topology.interfaces import IPV4, Interface, Interfaces

EVERY = "all"
"""Stands for all interfaces with an address, where no row names interfaces that relay."""
_SERVES = InterfaceRow.fields("dhcp_server")
_RELAYED = RelayRow.fields("relay_to")
_BY_DEVICE = SystemRow.fields("relay_to")


def relay(interfaces: Interfaces, rows: list[RelayRow]) -> None:
    """Give each interface the servers that its DHCP requests are relayed to.

    A row that names interfaces and no servers takes those of the rows that name neither a set nor single interfaces.
    """
    rows = [row for row in rows if not row.inactive]
    single = [row for row in rows if row.interfaces and row.interfaces != (EVERY,)]
    named = {name for row in single for name in row.interfaces}
    common = [row for row in rows if row not in single and not row.name]
    for row in single:
        for name in row.interfaces if not row.disabled else ():
            for source in _servers(row, rows) or [each for other in common for each in _servers(other, rows)]:
                for interface in _named(interfaces, name):
                    interface.take(source, only=_RELAYED)
    listed = any(not row.disabled and not _servers(row, rows) for row in single)
    everywhere = [row for row in common if row.interfaces and not listed]
    for interface in list(interfaces.all()) if everywhere else ():
        if interface.addresses and interface.name not in named:
            for source in (each for row in everywhere for each in _servers(row, rows)):
                interface.take(source, only=_RELAYED)


def serve_up_to(interfaces: Interfaces, rows: Iterable[InterfaceRow]) -> None:
    """Have what the first VLAN interface of several says of its DHCP server hold for the others."""
    for row in rows:
        base, _, first = row.name.rpartition(".")
        last_base, _, last = row.upto.rpartition(".")
        if row.upto and not row.inactive and base == last_base and first.isdecimal() and last.isdecimal():
            for interface in list(interfaces.all()):
                stem, _, number = interface.name.rpartition(".")
                if stem == base and number.isdecimal() and int(first) < int(number) <= int(last):
                    interface.take(row, only=_SERVES)


def _named(interfaces: Interfaces, name: str) -> list[Interface]:
    """Return the interface of a name, or those that have the address which stands for it."""
    if not name.replace(".", "").isdecimal():
        return [interfaces.device(name)]
    return [i for i in interfaces.all() if any(address.partition("/")[0] == name for address in i.addresses)]


def _servers(row: RelayRow, rows: list[RelayRow]) -> list[RelayRow]:
    """Return the rows whose servers a row uses: itself, or the sets that it names."""
    if row.relay_to:
        return [row]
    return [other for other in rows if other.name and other.name in row.uses]


def relay_of_device(interfaces: Interfaces, rows: Iterable[SystemRow], routes: Iterable[RouteRow]) -> None:
    """Have those that relay for the whole device do so, but for one by which a server itself is reached.

    Requests that enter by a port of a bridge arrive at the bridge.
    """
    routes = [row for row in routes if not (row.inactive or row.disabled)]
    rows = [row for row in rows if not row.inactive]
    servers = [row for row in rows if row.relay_to]
    for interface in interfaces.all():
        if interface.relays and interface.name not in interfaces.bridge_of:
            for row in servers:
                interface.take(row, only=_BY_DEVICE)
            near = {server: _near(interfaces, server, routes) for server in interface.relay_to}
            here = {s for s in near if _has_net_of(interface, s) or _is_way(interfaces, interface, near[s])}
            interface.relay_to = tuple(s for s in near if s not in here and _answers(interfaces, near[s], rows))


def _is_way(interfaces: Interfaces, interface: Interface, near: list[Interface]) -> bool:
    """Return whether an interface is listed for the answers of a server alone: it is reached there, and others ask."""
    asking = (each for each in interfaces.all() if each.relays and each not in near)
    return interface.relay_answers and interface in near and any(asking)


def _near(interfaces: Interfaces, server: str, routes: Iterable[RouteRow]) -> list[Interface]:
    """Return the interfaces by which a server is reached: in its network, or else in that of the next router."""
    near = [each for each in interfaces.all() if _has_net_of(each, server)]
    if near:
        return near
    found = [(to, row) for row in routes if (to := _prefix(row)) is not None and ip_address(server) in to]
    longest = max((to.prefixlen for to, _ in found), default=0)
    hops = [hop for to, row in found if to.prefixlen == longest for hop in row.next_hops if IPV4.fullmatch(hop)]
    return [each for each in interfaces.all() if any(_has_net_of(each, hop) for hop in hops)]


def _prefix(row: RouteRow) -> IPv4Network | None:
    """Return what a route is for; ``None`` where that cannot be read."""
    try:
        return IPv4Network(f"{row.prefix}/{row.netmask}" if row.netmask else row.prefix or "0.0.0.0/0", strict=False)
    except ValueError:
        return None


def _answers(interfaces: Interfaces, near: list[Interface], rows: Iterable[SystemRow]) -> bool:
    """Return whether a relay hears a server's answers: by one of those that it is ``near``, where any are known.

    By one interface alone a server elsewhere is heard where there is no other.
    """
    named = [interfaces.find(name) for row in rows for name in row.relay_by]
    both = [interface for interface in interfaces.all() if interface.relay_answers]
    if not named and not both:
        return True
    there = [each for each in (*named, *both) if each and each.enabled]
    if near:
        return any(each in near for each in there)
    return bool(there) and bool(named or len(there) > 1 or all(i in there for i in interfaces.all() if i.addresses))


def _has_net_of(interface: Interface, server: str) -> bool:
    """Return whether a server is in the network of an interface's own address."""
    fixed = (IPv4Interface(address).network for address in interface.addresses if address[0].isdecimal())
    return any(ip_address(server) in net for net in fixed)
