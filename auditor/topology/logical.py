"""Rows about ranges of ports and about units of ports, made rows about the ports themselves."""

from __future__ import annotations

from fnmatch import fnmatchcase

from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.switching import InterfaceRow

RANGE = "range"
"""The kind of a row about all the ports that a range has."""
_WHERE = InterfaceRow.fields("name", "kind", "zone", "services", "protocols", "barred", "vrf")
"""What a list of a zone or VRF says of interfaces."""


def of_ports(rows: list[InterfaceRow]) -> tuple[list[InterfaceRow], dict[str, str]]:
    """Return rows in the order in which they count, and by its name the port that a unit is.

    What a range says comes first, so that a port's own lines win. A unit without a VLAN tag of its own is the port; a
    description of the port is worth more than one of the unit.
    """
    rows = _of_known(rows)
    if not any(row.says("unit") or row.kind == RANGE for row in rows):
        return rows, {}
    tagged = {row.name for row in rows if row.vlan_tag}
    ranges: dict[str, list[str]] = {}
    for row in rows:
        if row.kind == RANGE:
            ranges.setdefault(row.name, []).extend(row.applies_to)
    listed = {port for ports in ranges.values() for port in ports if "*" not in port}
    known = {row.parent if row.says("unit") else row.name for row in rows if row.kind != RANGE} | listed
    for ports in ranges.values():
        shapes = [port for port in ports if "*" in port]
        ports[:] = [port for port in ports if port not in shapes]
        ports += [name for name in sorted(known) if any(fnmatchcase(name, shape) for shape in shapes)]
    shared: list[InterfaceRow] = []
    own: list[InterfaceRow] = []
    units: list[InterfaceRow] = []
    for row in rows:
        if row.kind == RANGE:
            shared += [row.as_of(port, "kind", "applies_to") for port in ranges[row.name]]
        elif row.says("unit") and row.kind == "subinterface" and row.name not in tagged:
            units.append(row)
        else:
            own.append(row)
    folded = {unit.name: unit.parent for unit in units}
    own = [row.as_of(folded[row.name]) if row.name in folded else row for row in own]
    described = {row.name for row in own if row.description}
    parts: tuple[FieldName, ...] = ("kind", "parent", "unit")
    units = [u.as_of(u.parent, *parts, *(("description",) if u.parent in described else ())) for u in units]
    return [*shared, *own, *units], folded


def _of_known(rows: list[InterfaceRow]) -> list[InterfaceRow]:
    """Leave out rows that name an interface for a zone or VRF of which nothing else is said: it need not be there."""
    listing = [row for row in rows if (row.says("zone") or row.says("vrf")) and row.said.keys() <= _WHERE]
    if not listing:
        return rows
    apart = set(map(id, listing))
    known = {row.name for row in rows if id(row) not in apart}
    return [row for row in rows if id(row) not in apart or row.name in known]
