"""DHCP relays that are listed apart from the interfaces: servers in named sets, and the interfaces that use them."""

from __future__ import annotations

from auditor.reading.row_models.dhcp import RelayRow
from auditor.topology.interfaces import Interfaces

EVERY = "all"
"""Stands for all interfaces with an address, where no row names interfaces that relay."""
_RELAYED = RelayRow.fields("relay_to")


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
                interfaces.device(name).take(source, only=_RELAYED)
    listed = any(not row.disabled for row in single)
    everywhere = [row for row in common if row.interfaces and not listed]
    for interface in list(interfaces.all()) if everywhere else ():
        if interface.addresses and interface.name not in named:
            for source in (each for row in everywhere for each in _servers(row, rows)):
                interface.take(source, only=_RELAYED)


def _servers(row: RelayRow, rows: list[RelayRow]) -> list[RelayRow]:
    """Return the rows whose servers a row uses: itself, or the sets that it names."""
    if row.relay_to:
        return [row]
    return [other for other in rows if other.name and other.name in row.uses]
