"""How a device is run, as its lines say it: servers, SNMP, the ways to log in, in each VRF."""

from __future__ import annotations

from auditor.core.state import Management
from auditor.reading.row_models.system import SystemRow
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence, Sources
from auditor.topology.system import DEFAULT_VRF

LOGINS = ("http", "https", "ssh", "telnet")
_TERMINAL = ("ssh", "telnet")
"""The ways in that lead to a terminal line, where "all" of them are let in."""
_TOLD: Sources = {
    "ntp": ("ntp",),
    "dns": ("dns",),
    "syslog": ("syslog", "syslog_action"),
    "snmp": ("snmp",),
    "logins": ("logins", "inactive", "web_used", "login_http", "login_https", "login_ssh", "login_telnet"),
}


class ObservedManagement:
    """Builds the one item of a device.

    Attributes:
        offered: by VRF, the ways in that are open there, and ``snmp``.
    """

    def __init__(self, topology: Topology) -> None:
        self._topology = topology
        self._system = topology.system
        self.offered: dict[str, set[str]] = {}

    def build(self, evidence: Evidence) -> Management:
        """Return the item; some dialects name DNS servers and ways in at their interfaces.

        A way in that is open in any VRF is open; ``offered`` then has the ways in, and ``snmp``, of each VRF.
        """
        system, up = self._system, self._topology.layer3.up
        dns = set(system.dns)
        let_in: set[str] | None = None
        for interface in self._topology.interfaces.all():
            if interface.dns:
                dns.update(interface.dns)
                evidence.note("management", "", interface, {"dns": ("dns",)})
            if interface.says("lets_in") and up(interface):
                let_in = (let_in or set()).union(interface.lets_in)
                evidence.note("management", "", interface, {"logins": ("lets_in",)})
        snmp = self._system.snmp and self._system.snmp_used and (let_in is None or "snmp" in let_in)
        opened = self._opened(let_in or set())
        web = opened & {"http", "https"}
        if not self._system.web_used:
            opened -= web
        self.offered = {DEFAULT_VRF: opened | ({"snmp"} if snmp else set())}
        for row in self._system.apart:
            self.offered.setdefault(row.vrf, set()).update(self._of_vrf(row, web))
        everywhere: set[str] = set().union(*self.offered.values())
        evidence.note("management", "", self._system, _TOLD)
        return Management(
            ntp=self._ntp(evidence),
            dns=tuple(sorted(dns)),
            syslog=self._syslog(evidence),
            snmp="snmp" in everywhere,
            logins=tuple(sorted(everywhere - {"snmp"})),
        )

    def _opened(self, let_in: set[str]) -> set[str]:
        """Return the ways in that are open in the default VRF; ``let_in`` are those that interfaces name."""
        listed = {*self._system.logins, *let_in}
        found = {way for way in LOGINS if way in listed or ("all" in listed and way in _TERMINAL)}
        for way, is_open in self._system.ways.items():
            if is_open is not None:
                (found.add if is_open else found.discard)(way)
        return found

    def _of_vrf(self, row: SystemRow, web: set[str]) -> set[str]:
        """Return what a row offers in its VRF; ``web`` is what the web server speaks, where it is on."""
        found = {way for way, is_open in row.ways.items() if way in row.logins or is_open}
        if row.says("web_used") and row.web_used:
            found |= web
        if row.snmp or (row.says("snmp_used") and row.snmp_used and self._system.snmp):
            found.add("snmp")
        return found

    def _ntp(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the time servers; none where they are not asked."""
        if not self._system.ntp_enabled:
            evidence.note("management", "", self._system, {"ntp": ("ntp_enabled",)})
        if not self._system.ntp_used:
            evidence.note("management", "", self._system, {"ntp": ("ntp_used",)})
        return tuple(sorted(set(self._system.ntp))) if self._system.ntp_enabled and self._system.ntp_used else ()

    def _syslog(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the servers that messages go to; where places have names, those that some rule sends them to."""
        if not self._system.syslog_used:
            evidence.note("management", "", self._system, {"syslog": ("syslog_used",)})
            return ()
        used = {row.syslog_action for row in self._system.here}
        found = (row.syslog for row in self._system.here if not row.syslog_name or row.syslog_name in used)
        return tuple(sorted({server for servers in found for server in servers}))
