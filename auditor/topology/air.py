"""From the air to the wire: a radio's subinterface of a VLAN, its bridge group, and what else is on the group."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.reading.source import Refs
from auditor.topology.interfaces import Interface, Interfaces

_RADIO = "radio"


class RadioBridges:
    """Follows a VLAN of the air over the bridge group of the radio's subinterface to the wired one in that group."""

    def __init__(self, interfaces: Interfaces) -> None:
        self._interfaces = interfaces

    def wired(self, radio: str, tag: int | None) -> int | None:
        """Return the VLAN in which frames of a radio leave by wire; ``tag`` is theirs, ``None`` for untagged ones.

        ``None`` where no subinterface takes them up, or no other one that is on is in its bridge group. Whether the
        port below that is on, is a setting of the port.
        """
        found = {int(port.vlan_tag) for port in self._on_the_wire(radio, tag)}
        return min(found) if found else None

    def subdivided(self, radio: str) -> bool:
        """Return whether some subinterface of a radio takes up untagged frames."""
        return any(child.tag_native for child in self._interfaces.children.get(radio, []))

    def lines(self, radio: str, tag: int | None) -> Refs:
        """Return the lines of the subinterfaces on the way."""
        ways = [*self._of_radio(radio, tag), *self._on_the_wire(radio, tag)]
        return tuple(ref for child in ways for ref in child.at("vlan_tag", "bridge", "disabled"))

    def _of_radio(self, radio: str, tag: int | None) -> Iterator[Interface]:
        for child in self._interfaces.children.get(radio, []):
            if child.tag_native if tag is None else int(child.vlan_tag) == tag:
                yield child

    def _on_the_wire(self, radio: str, tag: int | None) -> Iterator[Interface]:
        groups = {child.bridge for child in self._of_radio(radio, tag) if child.enabled and child.bridge}
        for port in self._interfaces.devices.values():
            below = self._interfaces.below(port)
            wired = port.vlan_tag and below is not None and below.kind != _RADIO
            if wired and port.enabled and port.bridge in groups:
                yield port
