"""Settings of the whole device: its name, the servers it uses, the ways to log in."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from auditor.core.state import Management
from auditor.platforms.definition import Default
from auditor.reading.resolve.interfaces import Interface
from auditor.reading.resolve.read_rows import Evidence, Sources, apply_defaults
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Ref, Refs

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
DEFAULT_VRF = "default"
"""The VRF of everything that is in no other."""


class System(SystemRow):
    """All ``system`` rows of a device added up, the later one winning."""

    __slots__ = ("_all", "_apart", "_rows", "offered")

    def __init__(self, rows: list[SystemRow], defaults: list[Default]) -> None:
        super().__init__({}, Ref(0, 0))
        self._all = rows
        active = [row for row in rows if not row.inactive]
        here = [row for row in active if _vrf(row) == DEFAULT_VRF]
        self._rows = sorted(here, key=lambda row: row.says("vrf"))
        self._apart = [row for row in active if _vrf(row) != DEFAULT_VRF]
        self.offered: dict[str, set[str]] = {}
        said = self.said
        for row in self._rows:
            for name, value in row.said.items():
                said[name] = said.get(name, ()) + value if isinstance(value, tuple) else value
        apply_defaults(defaults, self)

    def unused(self) -> set[str]:
        """Return the fields of layer-3 interfaces that do nothing, for the whole device does not do that."""
        found = set() if self.shared_service else {"shared_addresses"}
        return found if self.relay_service else {*found, "relay_to"}

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values."""
        rows = self._all if "inactive" in names else [*self._rows, *self._apart]
        wanted = frozenset(names) - {"inactive"}
        return tuple(ref for row in rows if row.says_any(wanted) for name in names for ref in row.refs(name))

    def management(
        self, evidence: Evidence, interfaces: Iterable[Interface], up: Callable[[Interface], bool]
    ) -> Management:
        """Return the ``management`` area; some dialects name DNS servers and ways in at their interfaces.

        A way in that is open in any VRF is open; ``offered`` then has the ways in, and ``snmp``, of each VRF.
        """
        dns = set(self.dns)
        let_in: set[str] | None = None
        for interface in interfaces:
            if interface.dns:
                dns.update(interface.dns)
                evidence.note("management", "", interface, {"dns": ("dns",)})
            if interface.says("lets_in") and up(interface):
                let_in = (let_in or set()).union(interface.lets_in)
                evidence.note("management", "", interface, {"logins": ("lets_in",)})
        snmp = self.snmp and self.snmp_used and (let_in is None or "snmp" in let_in)
        opened = self._opened(let_in or set())
        web = opened & {"http", "https"}
        if not self.web_used:
            opened -= web
        self.offered = {DEFAULT_VRF: opened | ({"snmp"} if snmp else set())}
        for row in self._apart:
            self.offered.setdefault(row.vrf, set()).update(self._of_vrf(row, web))
        everywhere: set[str] = set().union(*self.offered.values())
        evidence.note("management", "", self, _TOLD)
        return Management(
            ntp=self._ntp(evidence),
            dns=tuple(sorted(dns)),
            syslog=self._syslog(evidence),
            snmp="snmp" in everywhere,
            logins=tuple(sorted(everywhere - {"snmp"})),
        )

    def _opened(self, let_in: set[str]) -> set[str]:
        """Return the ways in that are open in the default VRF; ``let_in`` are those that interfaces name."""
        listed = {*self.logins, *let_in}
        found = {way for way in LOGINS if way in listed or ("all" in listed and way in _TERMINAL)}
        for way, is_open in self.ways.items():
            if is_open is not None:
                (found.add if is_open else found.discard)(way)
        return found

    def _of_vrf(self, row: SystemRow, web: set[str]) -> set[str]:
        """Return what a row offers in its VRF; ``web`` is what the web server speaks, where it is on."""
        found = {way for way, is_open in row.ways.items() if way in row.logins or is_open}
        if row.says("web_used") and row.web_used:
            found |= web
        if row.snmp or (row.says("snmp_used") and row.snmp_used and self.snmp):
            found.add("snmp")
        return found

    def _ntp(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the time servers; none where they are not asked."""
        if not self.ntp_enabled:
            evidence.note("management", "", self, {"ntp": ("ntp_enabled",)})
        if not self.ntp_used:
            evidence.note("management", "", self, {"ntp": ("ntp_used",)})
        return tuple(sorted(set(self.ntp))) if self.ntp_enabled and self.ntp_used else ()

    def _syslog(self, evidence: Evidence) -> tuple[str, ...]:
        """Return the servers that messages go to; where places have names, those that some rule sends them to."""
        if not self.syslog_used:
            evidence.note("management", "", self, {"syslog": ("syslog_used",)})
            return ()
        used = {row.syslog_action for row in self._rows}
        found = (row.syslog for row in self._rows if not row.syslog_name or row.syslog_name in used)
        return tuple(sorted({server for servers in found for server in servers}))


def _vrf(row: SystemRow) -> str:
    return row.vrf if row.says("vrf") else DEFAULT_VRF
