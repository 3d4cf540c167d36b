"""Rows about DHCP servers and relays."""

from __future__ import annotations

from auditor.reading.fields import (
    DayCount,
    Flag,
    Hours,
    Ipv4,
    Mac,
    Macs,
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
    ShortMac,
    WordList,
)
from auditor.reading.row_models.row import Row


class DhcpFields(Row):
    """What a DHCP server offers its clients.

    ``ntp`` and ``wins`` are options 42 and 44 of RFC 2132, ``capwap`` option 138 of RFC 5417.
    ``vrf``: the VRF of the server, where each has one of its own; ``disabled``: nothing of it is offered.
    ``lease_most``: no lease is longer; ``option_set`` names a set of options.
    """

    gateway: Servers = ()
    dns: Servers = ()
    domain: str = ""
    lease: Seconds | None = None
    lease_most: Seconds | None = None
    lease_days: DayCount = 0
    lease_hours: Hours = 0
    lease_minutes: Minutes = 0
    options: Options = ()
    option_set: str = ""
    ntp: WordList = ()
    wins: WordList = ()
    vrf: str = ""
    disabled: OffFlag = False
    capwap: WordList = ()


class DhcpScopeRow(DhcpFields):
    """A DHCP scope that is served: known by its prefix, or by the interface it is served on.

    ``first`` and ``last`` are addresses, ``start`` and ``limit`` count from the network address; ``pool_name`` names
    a DhcpRangeRow.
    ``group``: the shared network that it belongs to; a row of a group without a prefix speaks for all scopes of it.
    ``everywhere``: it is served whatever interfaces say.
    ``adds_arp``: who has a lease is known, where an interface answers those alone that it knows.
    ``host`` and ``mac`` make it a reservation of one address; ``reserved`` are reservations within it.
    ``netmask``: the mask that clients are told, where the prefix is that of an interface, or that one host is told;
    ``range_masks``: the same, of each range that says one.
    ``vrf``: it serves the interfaces of this VRF alone.
    ``dns_of``, ``ntp_of``: whose servers clients are told where none are listed: the server's ``own`` address, or those
    that the ``device`` itself uses. ``own_gateway``: whether they are told the server's own address where no gateway is
    listed and the dialect does so.
    """

    name: str = ""
    network: Prefix = ""
    interface: str = ""
    group: str = ""
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
    adds_arp: Flag = False
    netmask: Netmask = ""
    range_masks: WordList = ()
    dns_of: str = ""
    ntp_of: str = ""
    own_gateway: Flag = True


class DhcpNetworkRow(DhcpFields):
    """What scopes of one prefix say, wherever they are served; without a prefix, what all of them say.

    ``prefix_length``: the mask that clients are told, 0 where it is the one of the prefix.
    ``upstream``: the DNS servers that the same program asks, beside those of the device or ``upstream_alone``.
    """

    network: Prefix = ""
    prefix_length: Offset = 0
    upstream: Servers = ()
    upstream_alone: Flag = False


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
    """Addresses that no scope of a ``vrf`` gives out: a list of ranges, or one from ``first`` to ``last``."""

    ranges: Ranges = ()
    first: Ipv4 = ""
    last: Ipv4 = ""
    vrf: str = ""


class DhcpReservationRow(Row):
    """An address kept for one MAC address; ``scope_name`` names the only scope that keeps it, where there is one.

    ``macs``: those that share it, where they may be several.
    ``network``: the prefix of the scope that it stands in.
    ``client``: the MAC address of its client identifier (RFC 2132, option 61), which has to be its own, too.
    """

    address: Ipv4 = ""
    mac: Mac = ""
    macs: Macs = ()
    client: ShortMac = ""
    network: Prefix = ""
    scope_name: str = ""
    disabled: OffFlag = False


class DhcpOptionRow(Row):
    """A named DHCP option: its RFC 2132 number and value; ``scope_name`` names the scope that tells it unasked.

    ``form``: what the value is sent as, where the dialect says so: ``address``, ``text`` or ``hex``. ``options`` makes
    it a set of those of these names.
    """

    name: str = ""
    scope_name: str = ""
    code: OptionCode = 0
    value: str = ""
    form: str = ""
    options: WordList = ()


class RelayRow(Row):
    """DHCP servers that requests are relayed to, beside the interfaces that do so.

    ``name`` makes it a set of servers, ``uses`` names such sets. ``interfaces`` are those that relay, or ``disabled``,
    that do not; ``all`` are all others, where no row names any that do; an address stands for the one that has it.
    """

    name: str = ""
    relay_to: Servers = ()
    uses: WordList = ()
    interfaces: WordList = ()
    disabled: OffFlag = False
