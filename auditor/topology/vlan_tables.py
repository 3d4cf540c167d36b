"""What tables by VLAN say: which VLANs are declared, and which ports they have."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Refs

_OUT: tuple[FieldName, ...] = ("not_tagged", "removed_ports", "forbidden_ports")


@dataclass(slots=True)
class Membership:
    """The VLANs that tables by VLAN put a port into, with the rows that say so.

    ``left``: those that a later row has taken it out of, with that.
    """

    tagged: dict[int, VlanRow] = field(default_factory=dict)
    untagged: dict[int, VlanRow] = field(default_factory=dict)
    entered: set[int] = field(default_factory=set)
    left: dict[int, VlanRow] = field(default_factory=dict)

    def leave(self, vid: int, row: VlanRow, *, tagged: bool, untagged: bool) -> None:
        """Take the port out of a VLAN that it is in in one of these ways."""
        for way, meant in ((self.tagged, tagged), (self.untagged, untagged)):
            if meant and vid in way:
                del way[vid]
                self.left[vid] = row

    @property
    def pvid(self) -> int | None:
        """The VLAN that untagged frames enter: the one that says so, or else the first."""
        return min(self.entered or self.untagged, default=None)

    def lines(self) -> Refs:
        """Return the lines that say so."""
        tagged = tuple(ref for row in self.tagged.values() for ref in row.at("tagged_ports"))
        untagged = tuple(ref for row in self.untagged.values() for ref in row.at("untagged_ports"))
        left = (row for vid, row in self.left.items() if vid not in self.tagged and vid not in self.untagged)
        return tagged + untagged + tuple(ref for row in left for ref in row.at(*_OUT))


@dataclass(slots=True)
class Declared:
    """A VLAN that the configuration declares."""

    name: str | None
    row: VlanRow
    named_by: VlanRow


def carry_out(
    members: dict[str, Membership], vid: int, row: VlanRow, ports: Callable[[str, Iterable[str]], Iterable[str]]
) -> None:
    """Put ports into a VLAN, and take those out that rows before have put in; ``ports`` names those of a bridge."""
    for port in ports(row.bridge, row.tagged_ports):
        members.setdefault(port, Membership()).tagged[vid] = row
    for port in ports(row.bridge, row.untagged_ports):
        members.setdefault(port, Membership()).untagged[vid] = row
    for port in ports(row.bridge, row.pvid_ports):
        members.setdefault(port, Membership()).entered.add(vid)
    no_longer = ((row.not_tagged, True, False), (row.removed_ports, False, True), (row.forbidden_ports, True, True))
    for names, tagged, untagged in no_longer:
        for port in ports(row.bridge, names):
            if own := members.get(port):
                own.leave(vid, row, tagged=tagged, untagged=untagged)


def put_in(members: dict[str, Membership], interfaces: Iterable[InterfaceRow]) -> None:
    """Put ports into the VLANs that they say themselves that they are in, beside what tables by VLAN say."""
    for port in interfaces:
        for vid in port.tagged_in:
            row = VlanRow({"tagged_ports": (port.name,)}, port.at("tagged_in")[0])
            members.setdefault(port.name, Membership()).tagged.setdefault(vid, row)
        for vid in port.untagged_in:
            row = VlanRow({"untagged_ports": (port.name,)}, port.at("untagged_in")[0])
            members.setdefault(port.name, Membership()).untagged.setdefault(vid, row)
