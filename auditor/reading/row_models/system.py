"""Rows about the device as a whole."""

from __future__ import annotations

from auditor.core.values import VlanSet
from auditor.reading.fields import (
    Commas,
    Flag,
    LineNumbers,
    Netmask,
    OffFlag,
    Offset,
    Present,
    Servers,
    VlanRef,
    Vlans,
    WordList,
)
from auditor.reading.row_models.row import Row


class SystemRow(Row):
    """Settings of the whole device. ``login_…``: whether that way in is open; ``logins`` opens several at once.

    ``relay_to``: where the interfaces that say so relay DHCP requests to; ``voice_vlan`` that of the ports that say so.
    ``…_service``: whether that is done at all; ``snmp_used`` and the like: whether what is set up there is in use.
    ``syslog_name`` names a place that messages can go to; they do where some row has it as its ``syslog_action``.
    ``syslog_what``: the sort of messages that a server is sent, of which the last row counts; ``syslog_none``: no such.
    ``syslog_topics``: which messages such a rule is about, by subject and severity; with ``!`` which not.
    ``routing``: packets are passed on between layer-3 interfaces; ``bundle_count``: how many bundles there may be.
    ``managed_radios``: the radios whose names are kept elsewhere; ``answers_names``: it is a DNS server for others;
    ``names_at``, ``names_on``: at these addresses, or those of these interfaces, alone; ``names_off``: not there;
    ``names_by``: those alone who ask by these interfaces, at an address of one of them; ``names_from``: only those who
    ask from these prefixes;
    ``http_at``, ``https_at``: the interfaces by which alone these are offered.
    ``serves_time``: it is a time server for others, by the interfaces ``time_on`` alone, where it lists any.
    ``ntp_keyed``: the keys that time servers have to prove; ``ntp_keys`` those that the device has.
    ``snmp_reader``: whether somebody gets answers by SNMP; where rows say so, one of them has to say yes.
    ``login_services``: what servers that let people in are there for.
    ``zoned``: interfaces of no zone pass nothing, though there may be no zone.
    ``only_vlan``: the one VLAN that the device itself is in; ``vrf``: the VRF in which a login, SNMP or a server
    is offered, or another one is asked; ``ntp_vrf``: the one in which all time servers are.
    ``managed_in``: the one VLAN in which it is managed, and which it does not route.
    ``snooping``: what DHCP servers answer in the ``snooped_vlans`` passes only from ports that are trusted.
    ``marks_requests``: they get option 82 (RFC 3046) where that is snooped; ``lets_in_marked``: such requests pass from
    ports that are not trusted; ``believes_marked``: a server or relay takes them without the address of a relay.
    ``answers_at``: the addresses that a login is answered at; at all of them, where a row says none. ``snmp_at``: those
    that SNMP is answered at; ``snmp_vrf``: the VRF in which it is; ``snmp_from``: those who may ask, all where a row
    says none, ``none`` for those who may not; ``snmp_on``: the interfaces by which alone; ``snmp_parts``: what there is
    of users of version 3, who read something where there are a ``user``, a ``group`` and a ``view``.
    ``relay_by``: the interfaces by which alone servers are asked that requests are relayed to.
    ``dns_from``: interfaces whose carriers name DNS servers that are used, too.
    ``in_vrf``: the interfaces of a VRF that has no name in any setting.
    ``dhcp_allowed``: where there are some, the only servers that may answer in these.
    ``arp_checked_vlans``: there ARP passes only from addresses that snooping has seen leased, or from trusted ports,
    where ``checks_arp`` has it checked at all.
    ``ntp_open``: whether time servers are asked, what is written leaves open.
    ``only_on``: the one interface that a login is offered on, nowhere if there is none of that name.
    ``user``: one who may log in, unless he is ``user_off``; by password, unless he is ``user_locked``, or by a key, if
    he has a ``user_key``. SSH lets in those alone who are ``users_alone``, where it names some, and by a key where
    there are ``keys_alone``. ``users_elsewhere``: a server knows users, too.
    ``lines``: first and last number of the terminal lines that it is about; ``line_count``: how many there are at
    least. Where some are said, the others let in all that terminal lines let in until they are told.
    """

    hostname: str = ""
    domain: str = ""
    ntp: WordList = ()
    ntp_enabled: Flag = True
    ntp_used: Flag = True
    ntp_vrf: str = ""
    ntp_open: Flag = False
    dns: Servers = ()
    dns_used: Flag = True
    dns_from: WordList = ()
    in_vrf: Commas = ()
    answers_at: Servers = ()
    snmp_at: Servers = ()
    snmp_from: WordList = ()
    snmp_vrf: str = ""
    snmp_on: WordList = ()
    snmp_parts: WordList = ()
    syslog: WordList = ()
    syslog_name: str = ""
    syslog_action: str = ""
    syslog_topics: WordList = ()
    syslog_used: Flag = True
    syslog_what: str = ""
    syslog_none: Present = False
    relay_to: Servers = ()
    relay_by: WordList = ()
    snmp: Flag = False
    logins: WordList = ()
    login_ssh: Flag = False
    login_telnet: Flag = False
    login_http: Flag = False
    login_https: Flag = False
    web_used: Flag = True
    dhcp_service: Flag = True
    shared_service: Flag = True
    relay_service: Flag = True
    snmp_used: Flag = True
    voice_vlan: VlanRef = ""
    voice_used: Flag = True
    vlans_shown: Flag = False
    native_tagged: Flag = False
    wifi_elsewhere: Flag = False
    managed_radios: Commas = ()
    answers_names: Flag = True
    names_at: Servers = ()
    names_on: WordList = ()
    names_off: WordList = ()
    names_from: WordList = ()
    names_by: WordList = ()
    routing: Flag = True
    only_vlan: VlanRef = ""
    vrf: str = ""
    http_at: WordList = ()
    https_at: WordList = ()
    serves_time: Flag = True
    time_on: WordList = ()
    login_services: WordList = ()
    ntp_keyed: WordList = ()
    ntp_keys: WordList = ()
    snmp_reader: Flag = True
    zoned: Flag = False
    only_on: str = ""
    bundle_count: Offset = 0
    managed_in: VlanRef = ""
    snooping: Flag = False
    snooped_vlans: Vlans = VlanSet()
    marks_requests: Flag = False
    lets_in_marked: Flag = True
    believes_marked: Flag = True
    dhcp_allowed: Servers = ()
    arp_checked_vlans: Vlans = VlanSet()
    user: str = ""
    user_off: Present = False
    user_locked: Present = False
    user_key: Present = False
    users_alone: WordList = ()
    keys_alone: Present = False
    users_elsewhere: Flag = False
    checks_arp: Flag = True
    lines: LineNumbers = ()
    line_count: Offset = 0

    @property
    def ways(self) -> dict[str, bool | None]:
        """By way to log in, whether it is open; ``None`` where the row does not say."""
        return {
            "http": self.login_http if self.says("login_http") else None,
            "https": self.login_https if self.says("login_https") else None,
            "ssh": self.login_ssh if self.says("login_ssh") else None,
            "telnet": self.login_telnet if self.says("login_telnet") else None,
        }


class RouteRow(Row):
    """A static route: where packets to a prefix go, to all others where it says none.

    ``next_hops``: addresses of the routers that pass them on; ``out``: the interface that they leave by; ``discards``:
    they go nowhere. Of two for one prefix the lower ``distance`` counts. ``idle_gateway``: the router that is asked as
    long as the device itself routes nothing.
    """

    prefix: str = ""
    netmask: Netmask = ""
    next_hops: WordList = ()
    out: str = ""
    discards: Flag = False
    distance: str = ""
    vrf: str = ""
    disabled: OffFlag = False
    idle_gateway: str = ""
