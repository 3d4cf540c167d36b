"""How a device is run, as its lines say it: servers, SNMP, the ways to log in, in each VRF."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from auditor.core.state import Management, Setting
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence, Sources
from auditor.topology.interfaces import Interface
from auditor.topology.layer3 import ADDRESSED, LEASED, own_addresses
from auditor.topology.system import ANY, DEFAULT_VRF

LOGINS = ("http", "https", "ssh", "telnet")
_TERMINAL = ("ssh", "telnet")
"""The ways in that lead to a terminal line, where "all" of them are let in."""
_LEASED_DNS = "DNS servers that come with this lease are asked in place of the listed ones; check which it brings"
_ASKED_OR_NOT = (
    "other lines that have the switch ask its time servers are missing; check whether it has the time of them"
)
_FROM_CARRIER = "this opens {} of the device itself to the carrier's side; check who is meant to reach it from there"
_TOLD: Sources = {
    "ntp": ("ntp",),
    "dns": ("dns", "dns_from"),
    "syslog": ("syslog", "syslog_action"),
    "snmp": ("snmp", "managed_in", "snmp_vrf", "snmp_on", "snmp_parts"),
    "logins": (
        "logins",
        "lines",
        "managed_in",
        "inactive",
        "web_used",
        "login_http",
        "login_https",
        "login_ssh",
        "login_telnet",
    ),
}


class ObservedManagement:
    """Builds the one item of a device.

    Attributes:
        offered: by VRF, the ways in that are open there, and ``snmp``.
        overriding: lines that were read and open more than a plan can say, with what they bear on.
    """

    def __init__(self, topology: Topology) -> None:
        self._topology = topology
        self._system = topology.system
        self.offered: dict[str, set[str]] = {}
        self.overriding: list[tuple[Ref, Bearing]] = []
        self._asking: list[SystemRow] = []
        self._alive: set[str] = set()
        self._silent = [row for row in topology.system.here if row.answers_at and not self._reached(row.answers_at)]
        self._unanswered = _open(self._silent) - _open(row for row in topology.system.here if row not in self._silent)

    def _reached(self, addresses: Sequence[str]) -> bool:
        """Return whether some of these addresses are the device's own, which is not asked of those of IPv6."""
        own = self._topology.layer3.own
        return any((":" in a and a != "::1") or a in ANY or a in own for a in addresses)

    def _note_unanswered(self, evidence: Evidence) -> None:
        for row in (row for row in self._system.here if row.answers_at):
            evidence.note("management", "", row, {"logins": ("answers_at",)})

    def _leave_dns_open(self) -> None:
        """Tell of leases whose DNS servers are asked in place of those that the device lists."""
        up = self._topology.layer3.up
        for interface in self._topology.interfaces.all():
            if interface.dns_replaced and up(interface) and not set(LEASED).isdisjoint(own_addresses(interface)):
                refs = interface.refs("method")[-1:]
                self._topology.overriding += [(ref, _LEASED_DNS, Setting("management", "", "dns")) for ref in refs]

    def build(self, evidence: Evidence) -> Management:
        """Return the item; some dialects name DNS servers and ways in at their interfaces.

        Servers in a VRF without interfaces are never asked. A way in that is open in any VRF is open; ``offered`` then
        has the ways in, and ``snmp``, of each VRF.
        """
        system, up = self._system, self._topology.layer3.up
        if not system.dns_used:
            evidence.note("management", "", system, {"dns": ("dns_used",)})
        alive = {i.vrf for i in self._topology.interfaces.all() if i.vrf and up(i) and own_addresses(i)}
        self._asking = [*system.here, *(row for row in system.apart if row.vrf in alive)]
        self._alive = alive | {DEFAULT_VRF, ""}
        self._reaches = self._topology.layer3.reaches
        asked = self._asking if system.dns_used else []
        dns = {server for row in asked for server in row.dns if self._reaches(row.vrf, server)}
        dns |= {name for row in asked for name in row.dns_from}
        let_in: set[str] | None = None
        for interface in self._topology.interfaces.all():
            if interface.dns:
                dns.update(server for server in interface.dns if self._reaches(interface.vrf, server))
                evidence.note("management", "", interface, {"dns": ("dns",)})
            if interface.dns_leased and up(interface):
                dns.add(interface.name)
                evidence.note("management", "", interface, {"dns": ("dns_leased",)})
            if interface.says("lets_in") and up(interface):
                let_in = (let_in or set()).union(interface.lets_in)
                evidence.note("management", "", interface, {"logins": ("lets_in",)})
        for resolver in self._topology.rows.dhcp_network:
            if resolver.upstream_alone:
                dns.clear()
            dns.update(resolver.upstream)
            if resolver.upstream or resolver.upstream_alone:
                evidence.note("management", "", resolver, {"dns": ("upstream", "upstream_alone")})
        self._note_unanswered(evidence)
        if dns:
            self._leave_dns_open()
        snmp = self._snmp(evidence) and (let_in is None or "snmp" in let_in)
        opened = self._opened(let_in or set())
        web = opened & {"http", "https"}
        if not self._system.web_used:
            opened -= web
        self.offered = {DEFAULT_VRF: opened}
        if snmp and (system.snmp_vrf or DEFAULT_VRF) in self._alive:
            self.offered.setdefault(system.snmp_vrf or DEFAULT_VRF, set()).add("snmp")
        for row in self._system.apart:
            self.offered.setdefault(row.vrf, set()).update(self._of_vrf(row, web))
        zones = self._topology.zones
        ways_in = [i for i in self._topology.interfaces.all() if i.says_any(ADDRESSED) and up(i)]
        if zones.used:
            for offered in self.offered.values():
                shut = {name for name in offered if not any(zones.let_in(i, name) for i in ways_in)}
                offered.difference_update(shut)
                names = {"snmp" if name == "snmp" else "logins" for name in shut}
                self._topology.blocked |= {Setting("management", "", name) for name in names}
        self.overriding += self._from_carriers(ways_in)
        everywhere: set[str] = set().union(*self.offered.values())
        evidence.note("management", "", self._system, _TOLD)
        return Management(
            ntp=self._ntp(evidence),
            dns=tuple(sorted(dns)),
            syslog=self._syslog(evidence),
            snmp="snmp" in everywhere,
            logins=tuple(sorted(everywhere - {"snmp"})),
        )

    def _from_carriers(self, ways_in: Sequence[Interface]) -> Iterator[tuple[Ref, Bearing]]:
        """Yield the lines that let in what is offered by ports that no VLAN is on, as uplinks are, and which ones."""
        interfaces, zones = self._topology.interfaces, self._topology.zones
        system = self._system
        only = {"http": system.http_at, "https": system.https_at, "snmp": system.snmp_on}
        found: dict[Ref, tuple[set[str], set[Setting]]] = {}
        vlan_of = self._topology.layer2.vlan_of
        inside = {way for each in ways_in if vlan_of(each) is not None for way in each.lets_in}
        for interface in ways_in:
            port = self._topology.layer3.port_below(interface)
            for way in set().union(*self.offered.values()) if port else ():
                if port and (not only.get(way) or interface.name in map(interfaces.spelt, only[way])):
                    own = interface.refs("lets_in") if way in interface.lets_in and way in inside else ()
                    for ref in (*own, *zones.lines_letting_in(interface, way)):
                        ways, places = found.setdefault(ref, (set(), set()))
                        ways.add(way)
                        places.add(Setting("uplinks", port.name))
        for ref, (ways, places) in found.items():
            yield ref, Bearing(_FROM_CARRIER.format(" and ".join(sorted(ways))), tuple(sorted(places)))

    def _snmp(self, evidence: Evidence) -> bool:
        """Return whether SNMP answers somebody at some address, in whatever VRF."""
        system = self._system
        known = [row for row in system.here if row.snmp and _somebody(row.snmp_from)]
        for row in (row for row in (*system.here, *system.apart) if not _somebody(row.snmp_from)):
            evidence.note("management", "", row, {"snmp": ("snmp_from",)})
        readers = [row.snmp_reader for row in system.here if row.says("snmp_reader")]
        unheard = bool(system.snmp_at) and not self._reached(system.snmp_at)
        if unheard or (readers and not any(readers)):
            evidence.note("management", "", system, {"snmp": ("snmp_at", "snmp_reader")})
            return False
        whole = {"user", "group", "view"}.issubset(system.snmp_parts)
        return ((system.snmp and bool(known)) or whole) and system.snmp_used

    def _opened(self, let_in: set[str]) -> set[str]:
        """Return the ways in that are open in the default VRF; ``let_in`` are those that interfaces name."""
        listed = {*self._system.logins, *let_in}
        anywhere = "all" in listed or not self._system.all_lines_said
        found = {way for way in LOGINS if way in listed or (anywhere and way in _TERMINAL)}
        for way, is_open in self._system.ways.items():
            if is_open is not None:
                (found.add if is_open else found.discard)(way)
        return found - self._unanswered

    def _of_vrf(self, row: SystemRow, web: set[str]) -> set[str]:
        """Return what a row offers in its VRF; ``web`` is what the web server speaks, where it is on."""
        found = {way for way, is_open in row.ways.items() if way in row.logins or is_open}
        if row.says("web_used") and row.web_used:
            found |= web
        if row.snmp and _somebody(row.snmp_from):
            found.add("snmp")
        if row.says("snmp_used") and row.snmp_used and self._system.snmp:
            found.add("snmp")
        return found

    def _ntp(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the time servers; none where they are not asked."""
        if not self._system.ntp_enabled:
            evidence.note("management", "", self._system, {"ntp": ("ntp_enabled",)})
        if not self._system.ntp_used:
            evidence.note("management", "", self._system, {"ntp": ("ntp_used",)})
        if self._system.ntp_open:
            on = (Setting("management", field="ntp"),)
            self.overriding += [(ref, Bearing(_ASKED_OR_NOT, on)) for ref in self._system.at("ntp")]
        asked = [(row.vrf or self._system.ntp_vrf, server) for row in self._asking for server in row.ntp]
        servers = {server for vrf, server in asked if vrf in self._alive and self._reaches(vrf, server)}
        return tuple(sorted(servers)) if self._system.ntp_enabled and self._system.ntp_used else ()

    def _syslog(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the servers that messages go to; where places have names, those that some rule sends them to."""
        if not self._system.syslog_used:
            evidence.note("management", "", self._system, {"syslog": ("syslog_used",)})
            return ()
        used = {row.syslog_action for row in self._system.here}
        rows = [row for row in self._asking if not row.syslog_name or row.syslog_name in used]
        sent = {(one, row.syslog_what): row for row in rows for one in row.syslog}
        return tuple(sorted({one for (one, _), row in sent.items() if self._sent(row, one)}))

    def _sent(self, row: SystemRow, server: str) -> bool:
        return not row.syslog_none and self._reaches(row.vrf, server)


def _open(rows: Iterable[SystemRow]) -> set[str]:
    """Return the ways in that some of these rows open."""
    return {way for row in rows for way, is_open in row.ways.items() if is_open}


def _somebody(clients: Sequence[str]) -> bool:
    """Return whether others than the device itself may ask, as far as clients are named: addresses, or prefixes."""
    return not clients or not all(client.startswith("127.") or client in ("::1", "none") for client in clients)
