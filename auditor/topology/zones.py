"""Zones: interfaces of none pass nothing, and each lets in to the device itself only what is listed."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.reading.row_models.switching import ZoneRow
from auditor.reading.source import Ref
from auditor.topology.interfaces import Interface

_EVERY = ("all", "any-service")
_OWN = Interface.fields("services", "protocols", "barred")


class Zones:
    """Answers what a device takes in by an interface; a device without zones takes in everything.

    ``used``: whether there are zones, or the device passes nothing without; so it is where they are ``expected``.
    """

    def __init__(self, rows: list[ZoneRow], *, expected: bool) -> None:
        rows = [row for row in rows if not row.inactive]
        self.used = bool(rows) or expected
        self._zones: dict[str, list[ZoneRow]] = {}
        for row in rows:
            self._zones.setdefault(row.name, []).append(row)
        self._rest = next((row.name for row in rows if row.every), "")

    def pass_by(self, interface: Interface) -> bool:
        """Return whether anything passes an interface."""
        return not self.used or bool(interface.zone or self._rest)

    def let_in(self, interface: Interface, service: str, also: str = "") -> bool:
        """Return whether a service is let in by an interface; ``also`` is another name of it, listed by itself."""
        return not self.used or self._listed(interface, "services", service, also)

    def takes_part(self, interface: Interface, protocol: str) -> bool:
        """Return whether a protocol is let in by an interface."""
        return not self.used or self._listed(interface, "protocols", protocol)

    def lines_letting_in(self, interface: Interface, service: str) -> list[Ref]:
        """Return the lines by which a service is let in by an interface."""
        found: list[Ref] = []
        for row in self._rows(interface) if self.used and self.let_in(interface, service) else ():
            refs = row.refs("services")
            lines = zip(row.said.get("services", ()), refs, strict=False)
            found += [ref for name, ref in lines if name in (service, *_EVERY)]
        return found

    def _rows(self, interface: Interface) -> Sequence[Interface | ZoneRow]:
        """Return what counts for an interface: what it says itself, or else its zone."""
        return [interface] if interface.says_any(_OWN) else self._zones.get(interface.zone or self._rest, [])

    def _listed(self, interface: Interface, where: str, name: str, also: str = "") -> bool:
        rows = self._rows(interface)
        listed = {name for row in rows for name in row.said.get(where, ())}
        barred = {name for row in rows for name in row.barred}
        return self.pass_by(interface) and name not in barred and not listed.isdisjoint({name, *_EVERY, also or name})
