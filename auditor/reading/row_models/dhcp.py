"""Rows about DHCP servers and relays."""

from __future__ import annotations

from auditor.reading.fields import (
    DayCount,
    Flag,
    Hours,
    Ipv4,
    Mac,
    Minutes,
    Netmask,
    OffFlag,
    Offset,
    OptionCode,
    Options,
    Prefix,
    Ranges,
    ReservationList,
    Seconds,
    Servers,
    WordList,
)
from auditor.reading.row_models.row import Row


class DhcpFields(Row):
    """What a DHCP server offers its clients. ``ntp`` and ``wins`` are options 42 and 44 of RFC 2132."""

    gateway: Servers = ()
    dns: Servers = ()
    domain: str = ""
    lease: Seconds | None = None
    lease_days: DayCount = 0
    lease_hours: Hours = 0
    lease_minutes: Minutes = 0
    options: Options = ()
    ntp: WordList = ()
    wins: WordList = ()


class DhcpScopeRow(DhcpFields):
    """A DHCP scope that is served: known by its prefix, or by the interface it is served on.

    ``first`` and ``last`` are addresses, ``start`` and ``limit`` count from the network address; ``pool_name`` names
    a DhcpRangeRow.
    ``group``: the shared network that it belongs to; a row of a group without a prefix speaks for all scopes of it.
    ``everywhere``: it is served whatever interfaces say.
    ``host`` and ``mac`` make it a reservation of one address; ``reserved`` are reservations within it.
    ``netmask``: the mask that clients are told, where the prefix is that of an interface.
    ``dns_of``, ``ntp_of``: whose servers clients are told where none are listed: the server's ``own`` address, or those
    that the ``device`` itself uses.
    """

    name: str = ""
    network: Prefix = ""
    interface: str = ""
    group: str = ""
    disabled: OffFlag = False
    everywhere: Flag = False
    ranges: Ranges = ()
    pool_name: str = ""
    first: Ipv4 = ""
    last: Ipv4 = ""
    start: Offset | None = None
    limit: Offset | None = None
    host: Ipv4 = ""
    mac: Mac = ""
    reserved: ReservationList = ()
    netmask: Netmask = ""
    dns_of: str = ""
    ntp_of: str = ""


class DhcpNetworkRow(DhcpFields):
    """What scopes of one prefix say, wherever they are served; without a prefix, what all of them say."""

    network: Prefix = ""


class DhcpRangeRow(Row):
    """A named set of address ranges, or one from ``first`` to ``last`` of it; rows of one name add up.

    ``next_name`` names the set that is used when it is used up.
    """

    name: str = ""
    ranges: Ranges = ()
    first: Ipv4 = ""
    last: Ipv4 = ""
    next_name: str = ""


class DhcpExclusionRow(Row):
    """Addresses that no scope gives out: a list of ranges, or one from ``first`` to ``last``."""

    ranges: Ranges = ()
    first: Ipv4 = ""
    last: Ipv4 = ""


class DhcpReservationRow(Row):
    """An address kept for one MAC address; ``scope_name`` names the only scope that keeps it, where there is one."""

    address: Ipv4 = ""
    mac: Mac = ""
    scope_name: str = ""
    disabled: OffFlag = False


class DhcpOptionRow(Row):
    """A named DHCP option: its RFC 2132 number and value; ``scope_name`` names the scope that tells it unasked."""

    name: str = ""
    scope_name: str = ""
    code: OptionCode = 0
    value: str = ""


class RelayRow(Row):
    """DHCP servers that requests are relayed to, beside the interfaces that do so.

    ``name`` makes it a set of servers, ``uses`` names such sets. ``interfaces`` are those that relay, or ``disabled``,
    that do not; ``all`` are all others, where no row names any that do.
    """

    name: str = ""
    relay_to: Servers = ()
    uses: WordList = ()
    interfaces: WordList = ()
    disabled: OffFlag = False
