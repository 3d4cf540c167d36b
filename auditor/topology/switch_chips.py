"""VLANs that are kept in a switch chip beside the bridge, made those of the bridge that the chip's ports are on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from auditor.core.values import ALL_VLANS, NO_VLANS, VlanSet
from auditor.platforms.names import NameBook
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.switching import ChipPortRow, ChipVlanRow, InterfaceRow, VlanRow
from auditor.reading.source import Ref

_CPU = "cpu"
_USUAL = frozenset({"", "disabled", "auto", "leave-as-is"})
"""Words of a port that does nothing about VLANs."""
_HEADERS = ("always-strip", "add-if-missing")
"""Words of a port that takes tags off or puts them on. Some chips know no such words, and take the tag of its own VLAN
off at each port (from memory of the vendor's manual); where a port says one, the chip is none of these."""
_BOUND = ("secure", "check")
"""The modes in which a port looks at the chip's table and lets nothing else pass."""


class SwitchChips:
    """The rows of a device with what its switch chips do told as what its bridges do.

    Attributes:
        rows: all rows; those of bridges and of their tables are added to.
        unknown: lines about ports by a number that nothing here gives a name.
    """

    def __init__(self, book: NameBook, read_rows: ReadRows) -> None:
        self.rows = read_rows
        self.unknown: list[Ref] = []
        table = [row for row in read_rows.chip_vlan if not row.inactive]
        told = [row for row in read_rows.chip_port if not _USUAL.issuperset((row.mode, row.pvid, row.egress))]
        if not table and not any(row.mode in _BOUND for row in told):
            return
        self._interfaces = [row for row in read_rows.interface if not row.inactive]
        self._ports = self._by_name(told, table, book)
        self._by_header = any(row.egress in _HEADERS for row in self._ports.values())
        self.unknown += self._beside_table(table)
        bridges = {row.name: row.bridge for row in self._interfaces if row.bridge}
        members = {name for row in table for name in row.ports} | self._ports.keys()
        more: list[InterfaceRow] = []
        rows: list[VlanRow] = []
        for bridge in dict.fromkeys(bridges[name] for name in bridges if name in members):
            here = [name for name, found in bridges.items() if found == bridge]
            chip = [name for name in here if name in members]
            more.append(InterfaceRow({"name": bridge, "kind": "bridge", "vlan_aware": True}, self._head(table, told)))
            more += [self._port(name, table) for name in chip]
            rows += [self._vlan(row, bridge, chip, [name for name in here if name not in chip]) for row in table]
        self.rows = replace(
            read_rows, interface=[*read_rows.interface, *more], vlan=[*read_rows.vlan, *(row for row in rows if row)]
        )

    @staticmethod
    def _head(table: list[ChipVlanRow], told: list[ChipPortRow]) -> Ref:
        return (*table, *told)[0].head

    def _by_name(
        self, told: Iterable[ChipPortRow], table: Iterable[ChipVlanRow], book: NameBook
    ) -> dict[str, ChipPortRow]:
        """Return the rows about ports by the name of the port; the chip numbers them in their order from 0.

        Where ports of another kind are among them, their order is not known.
        """
        names = {row.alias or row.name: row.name or row.alias for row in self._interfaces if row.kind == "port"}
        listed = {*(name for row in table for name in row.ports), *(row.name for row in self._interfaces if row.bridge)}
        ports = {name for name in listed - {*names.values()} if book.tell(name)[0] == "port"} | names.keys()
        numbered = {int(match[1]): name for name in ports if (match := re.fullmatch(r"ether(\d+)", name))}
        plain = len(numbered) == len(ports)
        found: dict[str, ChipPortRow] = {}
        for row in told:
            number = int(row.number) + 1 if row.number.isdecimal() else 0
            if row.name:
                found[row.name] = row
            elif plain and number in numbered:
                name = numbered[number]
                found[names.get(name, name)] = row
            elif plain and numbered and number == max(numbered) + 1:
                found[_CPU] = row
            else:
                self.unknown += row.at("number")
        return found

    def _beside_table(self, table: list[ChipVlanRow]) -> Iterator[Ref]:
        """Yield the lines by which VLANs that a port has beside its own leave it without a tag.

        So do all that leave by a port that strips tags, and those that come in by access ports and get none.
        """
        strips = any(row.egress == _HEADERS[0] and self._pvid(name) for name, row in self._ports.items())
        for name, row in self._ports.items():
            bound = row.mode in _BOUND and self._vids(name, table).but(self._pvid(name))
            if bound and (row.egress == _HEADERS[0] or (strips and row.egress not in _HEADERS and name != _CPU)):
                yield from row.at("egress")

    def _vids(self, name: str, table: Iterable[ChipVlanRow]) -> VlanSet:
        inside = name == _CPU
        return VlanSet(
            vid
            for row in table
            if name in row.ports or (inside and any(port.endswith(_CPU) for port in row.ports))
            for vid in row.vlan_ids
        )

    def _pvid(self, name: str) -> int:
        row = self._ports.get(name)
        return int(row.pvid) if row and row.pvid.isdecimal() else 0

    def _port(self, name: str, table: list[ChipVlanRow]) -> InterfaceRow:
        """Return what a port of the chip does; one that does not look at the table lets all pass."""
        row = self._ports.get(name)
        pvid = self._pvid(name)
        head = row.head if row else self._head(table, [])
        said: dict[str, object] = {"name": name}
        if row is None or row.mode not in _BOUND:
            return InterfaceRow({**said, "tagged_vlans": ALL_VLANS}, head)
        if pvid in self._vids(name, table):
            said["untagged_vlan"] = str(pvid)
            said["admits"] = "untagged" if row.egress == "always-strip" else "all"
        else:
            said["admits"] = "tagged"
        return InterfaceRow(said, head)

    def _vlan(self, row: ChipVlanRow, bridge: str, chip: list[str], others: list[str]) -> VlanRow:
        """Return a row of the chip's table as one of a bridge's; what is beside the chip is behind the port inside."""
        inside = any(name.endswith(_CPU) for name in row.ports)
        untagged = tuple(n for n in chip if n in row.ports and self._pvid(n) in row.vlan_ids and not self._tags(n))
        tagged = tuple(name for name in chip if name in row.ports and name not in untagged)
        return VlanRow(
            {
                "vlan_ids": row.vlan_ids or NO_VLANS,
                "bridge": bridge,
                "tagged_ports": (*tagged, *(others if inside else ())),
                "untagged_ports": untagged,
                "cpu": inside,
            },
            row.head,
        )

    def _tags(self, name: str) -> bool:
        """Return whether what leaves by a port has a tag: it puts one on, or takes none off where others do."""
        return name in self._ports and self._ports[name].egress != _HEADERS[0] and self._by_header
