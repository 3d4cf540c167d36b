"""What a platform's pieces may ask about the plan and the capture, whatever the dialect."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from auditor.areas import Reading
from auditor.areas.block import Block
from auditor.core.addresses import address_range
from auditor.core.domains import Domain, in_order
from auditor.core.state import DeviceState, DhcpScope, Port, Setting, Ssid
from auditor.corrections.change import Change, carried
from auditor.platforms.render import part


@dataclass(frozen=True, slots=True)
class Facts:
    """Answers about one change of a device.

    Attributes:
        change: from which state to which; the other way round for the undo.
        captured: the device as it was captured, be it for the commands or for the undo.
        expected: what is planned for the device.
        reading: what was read of it.
    """

    change: Change
    captured: DeviceState
    expected: DeviceState
    reading: Reading

    def values(self) -> dict[str, Any]:
        """Return what templates ask, by name."""
        setting = self.change.setting
        asked: tuple[Callable[..., Any], ...] = (
            *(self.blocks_of, self.sections_of, self.lines_of, self.sections_having, self.lower_layer_down),
            *(self.trunks_of, self.scopes_of, self.ports_but, self.ports_renumbered, self.carriers),
            *(self.apart, self.sharing, self.renamed_wifi),
        )
        return {
            "sections": self.sections_of(*setting.item),
            "headers": [block.header for block in self.reading.blocks],
            "blocks": self.reading.blocks,
            "lines": [line.text.strip() for line in self.reading.evidence_of(setting)],
            "captured": self.captured,
            "nothing_told": DhcpScope().model_dump(),
            **{function.__name__: function for function in asked},
        }

    def blocks_of(self, area: str, key: object = "", name: str = "") -> list[Block]:
        """Return the sections that an item, or a field of it, was observed in."""
        return self.reading.blocks_of(Setting(area, str(key), name))

    def sections_of(self, area: str, key: object = "", name: str = "") -> list[str]:
        """Return the first lines of the sections that an item, or a field of it, was observed in."""
        return list(dict.fromkeys(block.header for block in self.blocks_of(area, key, name)))

    def lines_of(self, header: str) -> list[str]:
        """Return the lines of all sections with a first line."""
        return [line for block in self.reading.blocks if block.header == header for line in block.lines]

    def sections_having(self, header: str, *lines: str) -> list[str]:
        """Return the first lines of a kind, or their part in brackets, of sections that have lines of each kind."""
        found = [(block.header, named) for block in self.reading.blocks if (named := part([block.header], header))]
        return [named[0] for name, named in found if all(part(self.lines_of(name), kind) for kind in lines)]

    def lower_layer_down(self, area: str, key: object) -> bool:
        """Return whether a port or gateway is on itself and down by a lower layer."""
        return Setting(area, str(key)) in self.reading.lower_layer_down

    def trunks_of(self, vid: int, native: bool = False) -> list[str]:
        """Return the trunks that are planned to carry a VLAN, tagged or, if asked for, as the native one, too."""
        trunks = [(name, port) for name, port in self.expected.ports.items() if port.mode == "trunk"]
        return [name for name, port in trunks if vid in port.tagged or (native and vid == port.untagged)]

    def scopes_of(self, addresses: Iterable[str]) -> list[str]:
        """Return the prefixes of planned DHCP scopes that some of an interface's addresses are in."""
        hosts = [address_range(text.split("/")[0])[0] for text in addresses if text != "dhcp"]
        spans = [(prefix, address_range(prefix)) for prefix in self.expected.dhcp]
        return [prefix for prefix, (first, last) in spans if any(first <= host <= last for host in hosts)]

    def apart(self, one: Port, other: Port) -> list[Domain]:
        """Return the VLANs that two ports carry in another way, or only one of them carries."""
        ways = [(vid, one.untagged == vid, vid in one.tagged) for vid in (carried(one) | carried(other))]
        return in_order(
            vid for vid, bare, tagged in ways if (bare, tagged) != (other.untagged == vid, vid in other.tagged)
        )

    def ports_but(self, *vids: int) -> list[str]:
        """Return the ports that carry what is planned but for some VLANs that are tagged on one side only."""
        now, planned = self.captured.ports, self.expected.ports
        both = [(name, set(now[name].tagged), set(planned[name].tagged)) for name in now if name in planned]
        return [name for name, had, wanted in both if had - set(vids) == wanted - set(vids)]

    def ports_renumbered(self, old: int, new: int, *fields: str) -> list[str]:
        """Return the ports that have what is planned in some fields, or all, once a VLAN has another number."""
        now, planned, names = self.captured.ports, self.expected.ports, fields or ("mode", "untagged", "tagged")
        both = [(name, _renumbered(now[name], old, new), planned[name]) for name in now if name in planned]
        return [name for name, one, other in both if all(getattr(one, each) == getattr(other, each) for each in names)]

    def carriers(self, state: DeviceState, vid: int) -> list[str]:
        """Return the ports of a state that carry a VLAN, tagged or not."""
        return [name for name, port in state.ports.items() if vid in carried(port)]

    def sharing(self, vids: Iterable[Domain]) -> dict[str, Port]:
        """Return the other ports that are planned otherwise in some of these VLANs, too, each as it is planned."""
        wanted, now, own = set(vids), self.captured.ports, self.change.setting.key
        there = [(name, port) for name, port in self.expected.ports.items() if name in now and name != own]
        switched = [(name, port) for name, port in there if "routed" not in (port.mode, now[name].mode)]
        return {name: port for name, port in switched if wanted & set(self.apart(now[name], port))}

    def renamed_wifi(self) -> list[str]:
        """Return a Wi-Fi name that is not planned and the planned one that it stands for, which lacks some radio."""
        now, planned, key = self.captured.ssids, self.expected.ssids, self.change.setting.key
        strange = [key] if key not in planned else [name for name in now if name not in planned]
        lost = [name for name in planned if name not in now]
        fewer = [name for name in planned if name in now and _fewer_bands(now[name], planned[name])]
        if not strange or len(lost + fewer) != 1 or key not in (strange[0], *lost, *fewer) or strange[0] not in now:
            return []
        one, two = now[strange[0]], planned[(lost + fewer)[0]]
        alike = all(getattr(one, name) == getattr(two, name) for name in Ssid.model_fields if name not in _APART)
        return [strange[0], (lost + fewer)[0]] if alike and (fewer or two.bands in (None, one.bands)) else []


def _renumbered(port: Port, old: int, new: int) -> Port:
    tagged = sorted(new if vid == old else vid for vid in port.tagged)
    untagged = new if port.untagged == old else port.untagged
    return port.model_copy(update={"tagged": type(port.tagged)(tagged), "untagged": untagged})


_APART = ("bands", "passphrase_matches")


def _fewer_bands(now: Ssid, planned: Ssid) -> bool:
    return bool(now.enabled is True and now.bands and set(planned.bands or ()) - set(now.bands))
