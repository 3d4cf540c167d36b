"""VLANs by name: what ports and interfaces mean that are told a VLAN's name, and what a VLAN says of both."""

from __future__ import annotations

from auditor.core.values import ALL_VLANS, VlanSet
from auditor.platforms.definition import VlanTable
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Ref
from auditor.topology.interfaces import Interfaces

EVERY = "all"
_NAMING = InterfaceRow.fields("vlan_members", "voice_vlan")


class VlanNames:
    """Answers which VLANs a name, number or range stands for."""

    def __init__(self, table: VlanTable, interfaces: Interfaces, rows: ReadRows) -> None:
        self._interfaces = interfaces
        self._named: dict[str, VlanSet] = {}
        self._routed: dict[str, list[VlanRow]] = {}
        for row in rows.vlan:
            vids = row.vids
            if not vids or row.inactive or row.disabled:
                continue
            self._named[row.name] = VlanSet(self._named.get(row.name, VlanSet()) | vids)
            if row.l3_interface:
                interfaces.device(row.l3_interface).vid = str(min(vids))
                self._routed.setdefault(row.l3_interface, []).append(row)
            for port, ref in zip(row.ports, row.refs("ports"), strict=False):
                member = InterfaceRow({}, ref)
                member.vlan_members = tuple(str(vid) for vid in sorted(vids))
                interfaces.device(port).take(member)
        self._first = table.built_in.get(1) or "1"
        self._named.setdefault(self._first, VlanSet([1]))

    def of(self, text: str) -> VlanSet | None:
        """Return the VLANs that a word stands for; ``None`` for a name that no VLAN has."""
        if text == EVERY:
            return ALL_VLANS
        try:
            return VlanSet.parse(text)
        except ValueError:
            return self._named.get(text)

    def number(self, text: str | None) -> int | None:
        """Return the number of a VLAN by its name or number; ``None`` for a name that no VLAN has."""
        return min(self.of(text) or (), default=None) if text else None

    def of_untouched(self) -> int | None:
        """Return the VLAN of an access port that is put into none: the one that has the name of VLAN 1."""
        return self.number(self._first)

    def unknown(self) -> list[Ref]:
        """Return the lines that name VLANs which no line declares, or one interface as that of several VLANs."""
        shared = [rows for rows in self._routed.values() if len({min(row.vids) for row in rows}) > 1]
        found = [ref for rows in shared for row in rows for ref in row.at("l3_interface")]
        for interface in self._interfaces.devices.values():
            if interface.says_any(_NAMING):
                members = zip(interface.vlan_members, interface.refs_of_each("vlan_members"), strict=False)
                found += [ref for name, ref in members if self.of(name) is None]
                voice = interface.voice_vlan
                found += [] if not voice or self.of(voice) else interface.at("voice_vlan")
        return found
