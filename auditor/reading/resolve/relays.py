"""DHCP relays that are listed apart from the interfaces: servers in named sets, and the interfaces that use them."""

from __future__ import annotations

from auditor.reading.resolve.interfaces import Interfaces
from auditor.reading.resolve.read_rows import ReadRow

EVERY = "all"
"""Stands for all interfaces with an address, where no row names interfaces that relay."""


def relay(interfaces: Interfaces, rows: list[ReadRow]) -> None:
    """Give each interface the servers that its DHCP requests are relayed to.

    A row that names interfaces and no servers takes those of the rows that name neither a set nor single interfaces.
    """
    rows = [row for row in rows if not row.get("inactive")]
    single = [row for row in rows if row.get("interfaces") and row.get("interfaces") != [EVERY]]
    named = {name for row in single for name in row.get("interfaces")}
    common = [row for row in rows if row not in single and not row.get("name")]
    for row in single:
        for name in row.get("interfaces") if not row.get("disabled") else ():
            for source in _servers(row, rows) or [each for other in common for each in _servers(other, rows)]:
                interfaces.device(name).take(source, only=("relay_to",))
    listed = any(not row.get("disabled") for row in single)
    everywhere = [row for row in common if row.get("interfaces") and not listed]
    for interface in list(interfaces.all()) if everywhere else ():
        if interface.get("addresses") and interface.name not in named:
            for source in (each for row in everywhere for each in _servers(row, rows)):
                interface.take(source, only=("relay_to",))


def _servers(row: ReadRow, rows: list[ReadRow]) -> list[ReadRow]:
    """Return the rows whose servers a row uses: itself, or the sets that it names."""
    if row.get("relay_to"):
        return [row]
    return [other for other in rows if other.get("name") and other.get("name") in row.get("uses", ())]
