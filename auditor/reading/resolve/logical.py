"""Rows about ranges of ports and about units of ports, made rows about the ports themselves."""

from __future__ import annotations

from auditor.reading.resolve.read_rows import ReadRow

RANGE = "range"
"""The kind of a row about all the ports that a range has."""


def of_ports(rows: list[ReadRow]) -> tuple[list[ReadRow], dict[str, str]]:
    """Return rows in the order in which they count, and by its name the port that a unit is.

    What a range says comes first, so that a port's own lines win. A unit without a VLAN tag of its own is the port; a
    description of the port is worth more than one of the unit.
    """
    if not any("unit" in row.values or row.get("kind") == RANGE for row in rows):
        return rows, {}
    tagged = {row.get("name") for row in rows if row.get("vlan_tag")}
    ranges: dict[str, list[str]] = {}
    for row in rows:
        if row.get("kind") == RANGE:
            ranges.setdefault(row.get("name"), []).extend(row.get("applies_to", ()))
    shared: list[ReadRow] = []
    own: list[ReadRow] = []
    units: list[ReadRow] = []
    for row in rows:
        name = row.get("name")
        if row.get("kind") == RANGE:
            shared += [row.as_of(port, "kind", "applies_to") for port in ranges[name]]
        elif "unit" in row.values and row.get("kind") == "subinterface" and name not in tagged:
            units.append(row)
        else:
            own.append(row)
    folded = {unit.get("name"): unit.get("parent") for unit in units}
    own = [row.as_of(folded[row.get("name")]) if row.get("name") in folded else row for row in own]
    described = {row.get("name") for row in own if row.get("description")}
    parts = ("kind", "parent", "unit")
    units = [u.as_of(u.get("parent"), *parts, *(["description"] * (u.get("parent") in described))) for u in units]
    return [*shared, *own, *units], folded
