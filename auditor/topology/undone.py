"""Lines that together undo what each sets up: what two bridges claim, servers that are told of and are not there."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace

from auditor.core.state import DhcpScope, Setting
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.layer3 import own_addresses
from auditor.topology.pvids import beyond_the_air
from auditor.topology.system import System
from auditor.topology.users import shut_out

_TWICE = "Two bridges claim this port or VLAN: they are joined, or one of them goes without it; check which is meant"
_NO_TIME = "Clients are told to ask this device for the time, and it tells none: let it, or tell them another server"
_NO_SERVER = "Clients log in to this Wi-Fi by a server, and none is named: check who is to let them in"
_BESIDE = (
    "The bridge gives this radio a VLAN that its clients are not in, or in a form that they do not know: check both"
)
_LETS_REACH = "Clients that this rule lets on reach each other: check for whom it is meant"
_KEEPS_OUT = "This rule keeps all clients out that none before it lets on: check for whom it is meant"
_NO_ARP = (
    "This interface tells stations its address only where they are known, and no lease makes them known: check who is"
)
_NO_KEY = "This time server has to prove a key that the device does not have: check the key"
_SELDOM = (
    "What the device itself has to say is of other facilities than those sent to this server: check which are wanted"
)
_WORST = "Only the worst messages are sent, or those of one subject: check which are wanted"
_NO_WAY_IN = (
    "This access point is managed from here, and no interface lets access points in: check where it is connected"
)
_IN_VRF = "Interfaces may be in a routing table of their own: check which, and whether their traffic gets out"
_ROUTED = (Setting("gateways"), Setting("uplinks"), Setting("dhcp"), Setting("management", field="ntp"))
_MANAGERS = ("capwap", "fabric")
"""By which access points reach who manages them (CAPWAP, RFC 5415), or by more than that."""
_ENTERPRISE = "enterprise"
_EVERY_DAY = frozenset({"info", "warning", "error"})
"""The severities that an ordinary day brings."""
_OTHERS = frozenset(
    {"conflict-log", "cron", "dfc", "external", "ftp", "lpr", "mail", "mark", "news", "uucp"}
    | {f"local{number}" for number in range(8)}
)
"""Facilities (RFC 5424, 6.2.1, and those of dialects) by which a device says nothing of itself."""
_TIME_SERVERS = 42
"""RFC 2132, 8.3."""
_ANYWHERE = (
    Setting("vlans"),
    Setting("gateways"),
    Setting("ssids", field="vlan"),
    Setting("ports", field="untagged"),
    Setting("ports", field="tagged"),
)


def undone(
    topology: Topology, scopes: Mapping[str, DhcpScope], lines: Callable[[Setting], list[Ref]]
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines that others undo, with what they bear on; what is not as planned is told all the same.

    ``scopes``: what is served; ``lines``: where a setting was read.
    """
    yield from ((ref, replace(bearing, contradicts=True)) for ref, bearing in _all(topology, scopes, lines))


def _all(
    topology: Topology, scopes: Mapping[str, DhcpScope], lines: Callable[[Setting], list[Ref]]
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines that others undo, with what they bear on."""
    yield from _claimed(topology)
    yield from _without_server(topology)
    yield from _telling_no_time(topology, scopes, lines)
    yield from _ruled(topology)
    yield from _answering_no_arp(topology)
    yield from _of_system(topology.system)
    yield from shut_out(topology.system)
    yield from _not_let_in(topology)
    yield from _in_vrfs(topology)
    for row in topology.wifi.rows:
        on = (Setting("ssids", field="vlan"),)
        yield from ((ref, Bearing(_BESIDE, on, key=row.ssid)) for ref in beyond_the_air(topology.layer2, row))


def _claimed(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which a port or VLAN is a member of several bridges."""
    for name, bridges in topology.interfaces.claimed.items():
        for bridge in bridges if len(bridges) > 1 else ():
            listed = zip(bridge.members, bridge.refs_of_each("members"), strict=False)
            yield from ((ref, Bearing(_TWICE, _ANYWHERE)) for member, ref in listed if member == name)


def _telling_no_time(
    topology: Topology, scopes: Mapping[str, DhcpScope], lines: Callable[[Setting], list[Ref]]
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which clients are told to ask an address of the device for the time, where it tells none."""
    system = topology.system
    for key, scope in scopes.items():
        servers = set(scope.options.get(_TIME_SERVERS, "").split(",")) & topology.layer3.own
        silent = servers if not system.serves_time else servers & _beside(topology, system.time_on)
        if silent:
            place = Setting("dhcp", key, "options")
            yield from ((ref, Bearing(_NO_TIME, (Setting("dhcp", field="options"),), key=key)) for ref in lines(place))


def _beside(topology: Topology, names: Collection[str]) -> set[str]:
    """Return the device's own addresses on other interfaces than some, or none where it names none."""
    others = (interface for interface in topology.layer3.addressed if interface.name not in names)
    found = {a.partition("/")[0] for each in others for a in (*own_addresses(each), *each.shared_addresses)}
    return found if names else set()


def _without_server(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the Wi-Fi names whose clients log in by a server, where the dialect says which, and no line does."""
    for row in topology.wifi.rows:
        if row.login_by_mac and not row.mac_login_at and not row.disabled:
            yield from ((r, Bearing(_NO_SERVER, (Setting("ssids"),), key=row.ssid)) for r in row.refs("login_by_mac"))
    if not topology.dialect.tells_login_servers:
        return
    there = "wireless" in topology.system.login_services
    for row in topology.wifi.rows:
        security = topology.dialect.words.security(row.security, row.security_mode)
        if row.disabled or row.login_at or there or not security.endswith(_ENTERPRISE):
            continue
        yield from ((ref, Bearing(_NO_SERVER, (Setting("ssids"),), key=row.ssid)) for ref in row.at("security"))


def _ruled(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the rules by which clients reach each other, or none gets on; the first that fits a client counts."""
    rules = [rule for rule in topology.rows.wifi_rule if not rule.inactive]
    named = {row.interface for row in topology.wifi.rows}
    for row in topology.wifi.rows if rules else ():
        isolated = row.isolation or not row.forwarding
        for rule in (each for each in rules if each.interface == row.interface or each.interface not in named):
            opens = rule.forwarding or (rule.says("isolation") and not rule.isolation)
            if rule.refused and not rule.some:
                yield rule.head, Bearing(_KEEPS_OUT, (Setting("ssids", field="enabled"),), key=row.ssid)
            elif opens and isolated and not rule.refused:
                yield rule.head, Bearing(_LETS_REACH, (Setting("ssids", field="client_isolation"),), key=row.ssid)
            if not rule.some:
                break


def _answering_no_arp(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which interfaces with addresses answer no ARP, or that of stations alone that nobody adds."""
    served = [row for row in topology.rows.dhcp_scope if not row.inactive and not row.disabled]
    for interface in topology.layer3.addressed:
        scopes = [row for row in served if row.interface == interface.name]
        shut = interface.arp == "none" or (interface.arp == "known" and scopes and not any(s.adds_arp for s in scopes))
        if not shut or not (own_addresses(interface) or interface.shared_addresses):
            continue
        vid, port = topology.layer2.vlan_of(interface), topology.layer3.port_below(interface)
        on, key = (
            (Setting("gateways"), str(vid)) if vid is not None else (Setting("uplinks"), port.name if port else "")
        )
        yield from ((ref, Bearing(_NO_ARP, (on,), key=key)) for ref in interface.at("arp"))


def _of_system(system: System) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which time servers are not believed, and messages do not leave the device."""
    keys = set(system.ntp_keys)
    for row in system.here:
        asked = zip(row.ntp_keyed, row.refs("ntp_keyed"), strict=False)
        yield from (
            (ref, Bearing(_NO_KEY, (Setting("management", field="ntp"),))) for key, ref in asked if key not in keys
        )
    places = {row.syslog_name for row in system.here if row.syslog and row.syslog_name}
    rules = [row for row in system.here if row.syslog_action in places]
    if rules and not any(map(_of_every_day, rules)):
        on = (Setting("management", field="syslog"),)
        yield from ((ref, Bearing(_WORST, on)) for row in rules for ref in row.refs("syslog_topics"))
    sent: dict[str, list[SystemRow]] = {}
    for row in (row for row in system.here if row.says("syslog_what") and not row.syslog_none):
        for server in {*row.syslog, row.syslog_action} - {""}:
            sent.setdefault(server, []).append(row)
    for rows in sent.values():
        if {row.syslog_what for row in rows} <= _OTHERS:
            on = (Setting("management", field="syslog"),)
            yield from ((ref, Bearing(_SELDOM, on)) for row in rows for ref in row.refs("syslog_what") or (row.head,))


def _of_every_day(row: SystemRow) -> bool:
    """Return whether a rule is about messages of all subjects as an ordinary day brings them."""
    meant = {topic for topic in row.syslog_topics if not topic.startswith("!")}
    return not meant or (meant <= {*_EVERY_DAY, "critical"} and not meant.isdisjoint(_EVERY_DAY))


def _not_let_in(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the access points that are managed from here, where interfaces say whom they let in: none does these."""
    interfaces = [each for each in topology.interfaces.all() if each.enabled]
    said = [each for each in interfaces if each.says("lets_in")]
    if said and all(set(_MANAGERS).isdisjoint(each.lets_in) for each in said):
        for point in topology.rows.access_point:
            if not point.inactive and not point.disabled:
                yield point.head, Bearing(_NO_WAY_IN, (Setting("ssids", field="enabled"),))


def _in_vrfs(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines that put interfaces into VRFs, where one of them is in use."""
    parents = {interface.parent for interface in topology.interfaces.all()}
    for row in topology.system.here:
        if any(name in parents or _in_use(topology, name) for name in row.in_vrf):
            yield from ((ref, Bearing(_IN_VRF, _ROUTED)) for ref in row.refs("in_vrf"))


def _in_use(topology: Topology, name: str) -> bool:
    """Return whether an interface has addresses, or is more than a port that nothing is said of."""
    interfaces = topology.interfaces
    name = interfaces.spelt(name)
    if name in interfaces.bridge_of or name in interfaces.bundled or name in interfaces.children:
        return True
    found = interfaces.devices.get(name)
    kind = found.kind if found else interfaces.book.tell(name)[0]
    return kind != "port" or (found is not None and bool(own_addresses(found)))
