"""Settings of the whole device: its name, the servers it uses, the ways to log in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from auditor.core.state import Management
from auditor.platforms.definition import Default
from auditor.reading.resolve.interfaces import Interface
from auditor.reading.resolve.read_rows import Evidence, ReadRow, Refs, apply_defaults

LOGINS = ("http", "https", "ssh", "telnet")
_TERMINAL = ("ssh", "telnet")
"""The ways in that lead to a terminal line, where "all" of them are let in."""
_LISTS = ("ntp", "dns", "syslog")
DEFAULT_VRF = "default"
"""The VRF of everything that is in no other."""


class System:
    """All ``system`` rows of a device added up, the later one winning."""

    def __init__(self, rows: list[ReadRow], defaults: list[Default]) -> None:
        self.values: dict[str, Any] = {}
        self._all = rows
        active = [row for row in rows if not row.get("inactive")]
        here = [row for row in active if row.get("vrf", DEFAULT_VRF) == DEFAULT_VRF]
        self._rows = sorted(here, key=lambda row: "vrf" in row.values)
        self._apart = [row for row in active if row.get("vrf", DEFAULT_VRF) != DEFAULT_VRF]
        self.offered: dict[str, set[str]] = {}
        for row in self._rows:
            for name, value in row.values.items():
                self.values[name] = self.values.get(name, []) + value if isinstance(value, list) else value
        apply_defaults(defaults, "", self.values)

    def flag(self, name: str, default: bool = False) -> bool:
        """Return a yes-or-no setting."""
        return bool(self.values.get(name, default))

    def unused(self) -> set[str]:
        """Return the fields of layer-3 interfaces that do nothing, for the whole device does not do that."""
        services = {"shared_addresses": "shared_service", "relay_to": "relay_service"}
        return {field for field, service in services.items() if not self.flag(service, True)}

    def at(self, *names: str) -> Refs:
        """Return the lines of some values."""
        rows = self._all if "inactive" in names else [*self._rows, *self._apart]
        wanted = set(names) - {"inactive"}
        saying = [row for row in rows if not wanted.isdisjoint(row.values)]
        return tuple(ref for row in saying for name in names for ref in row.refs(name))

    @property
    def hostname(self) -> str | None:
        """The device's name."""
        return self.values.get("hostname") or None

    def management(
        self, evidence: Evidence, interfaces: Iterable[Interface], up: Callable[[Interface], bool]
    ) -> Management:
        """Return the ``management`` area; some dialects name DNS servers and ways in at their interfaces.

        A way in that is open in any VRF is open; ``offered`` then has the ways in, and ``snmp``, of each VRF.
        """
        values: dict[str, Any] = {name: set(self.values.get(name, [])) for name in _LISTS}
        values["syslog"] = self._syslog()
        let_in: set[str] | None = None
        for interface in interfaces:
            if interface.get("dns"):
                values["dns"].update(interface.get("dns"))
                evidence.note("management", "", interface, {"dns": ("dns",)})
            if "lets_in" in interface.values and up(interface):
                let_in = (let_in or set()).union(interface.get("lets_in"))
                evidence.note("management", "", interface, {"logins": ("lets_in",)})
        for name, switch in (("ntp", "ntp_enabled"), ("ntp", "ntp_used"), ("syslog", "syslog_used")):
            if not self.flag(switch, True):
                values[name] = set()
                evidence.note("management", "", self, {name: (switch,)})
        values = {name: tuple(sorted(found)) for name, found in values.items()}
        values["snmp"] = self.flag("snmp") and self.flag("snmp_used", True) and (let_in is None or "snmp" in let_in)
        listed = [*self.values.get("logins", []), *(let_in or ())]
        opened = {way for way in LOGINS if way in listed or ("all" in listed and way in _TERMINAL)}
        for way in LOGINS:
            if f"login_{way}" in self.values:
                (opened.add if self.values[f"login_{way}"] else opened.discard)(way)
        web = opened & {"http", "https"}
        if not self.flag("web_used", True):
            opened -= web
        self.offered = {DEFAULT_VRF: opened | ({"snmp"} if values["snmp"] else set())}
        for row in self._apart:
            self.offered.setdefault(row.get("vrf"), set()).update(self._of_vrf(row, web))
        everywhere = set().union(*self.offered.values())
        values["snmp"] = "snmp" in everywhere
        values["logins"] = tuple(sorted(everywhere - {"snmp"}))
        sources = {name: (name,) for name in (*_LISTS, "snmp")} | {"syslog": ("syslog", "syslog_action")}
        ways = ("logins", "inactive", "web_used", *(f"login_{way}" for way in LOGINS))
        evidence.note("management", "", self, {**sources, "logins": ways})
        return Management.model_validate(values)

    def _of_vrf(self, row: ReadRow, web: set[str]) -> set[str]:
        """Return what a row offers in its VRF; ``web`` is what the web server speaks, where it is on."""
        found = {way for way in LOGINS if way in row.get("logins", ()) or row.get(f"login_{way}")}
        if row.get("web_used"):
            found |= web
        if row.get("snmp") or (row.get("snmp_used") and self.flag("snmp")):
            found.add("snmp")
        return found

    def _syslog(self) -> set[str]:
        """Return the servers that messages go to; where places have names, those that some rule sends them to."""
        used = {row.get("syslog_action") for row in self._rows}
        found: set[str] = set()
        for row in self._rows:
            if not row.get("syslog_name") or row.get("syslog_name") in used:
                found.update(row.get("syslog", ()))
        return found
