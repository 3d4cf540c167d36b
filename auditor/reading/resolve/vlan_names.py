"""VLANs by name: what ports and interfaces mean that are told a VLAN's name, and what a VLAN says of both."""

from __future__ import annotations

from auditor.core.values import ALL_VLANS, VlanSet
from auditor.platforms.definition import VlanTable
from auditor.reading.resolve.interfaces import Interfaces
from auditor.reading.resolve.read_rows import ReadRow, ReadRows, Ref

EVERY = "all"


class VlanNames:
    """Answers which VLANs a name, number or range stands for."""

    def __init__(self, table: VlanTable, interfaces: Interfaces, rows: ReadRows) -> None:
        self._interfaces = interfaces
        self._named: dict[str, VlanSet] = {}
        for row in rows.get("vlan", ()):
            vids = row.get("vlan_ids") or row.get("index")
            if not vids or row.get("inactive") or row.get("disabled"):
                continue
            name = row.get("name", "")
            self._named[name] = VlanSet(self._named.get(name, VlanSet()) | vids)
            if row.get("l3_interface"):
                interfaces.device(row.get("l3_interface")).values["vid"] = str(min(vids))
            for port, ref in zip(row.get("ports", ()), row.refs("ports"), strict=False):
                interfaces.device(port).take(ReadRow({"vlan_members": [str(vid) for vid in sorted(vids)]}, ref))
        if not table.port_vlan.isdecimal():
            self._named.setdefault(table.port_vlan, VlanSet([1]))

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

    def unknown(self) -> list[Ref]:
        """Return the lines that name VLANs which no line declares."""
        found = []
        for interface in self._interfaces.devices.values():
            if not interface.values.keys().isdisjoint(("vlan_members", "voice_vlan")):
                found += [ref for name, ref in interface.each("vlan_members") if self.of(name) is None]
                voice = interface.get("voice_vlan")
                found += [] if not voice or self.of(voice) else interface.at("voice_vlan")
        return found
