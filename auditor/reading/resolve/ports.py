"""Ports: switched on or off, mode, VLANs, description."""

from __future__ import annotations

from enum import Enum, auto

from auditor.model.state import Port
from auditor.model.values import NO_VLANS, VlanSet, allowed_vlans, vlan_id
from auditor.platforms.definition import Platform
from auditor.reading.resolve.facts import Evidence, Later, Noted
from auditor.reading.resolve.interfaces import Interface, Interfaces
from auditor.reading.resolve.layer2 import Layer2

_SWITCHING = ("mode", "access_vlan", "native_vlan", "allowed_vlans", "voice_vlan", "tagged_vlans")
_KINDS = ("port", "bundle")
_ROUTED = ("routed", "layer3", "addresses", "method")
_COMMON = {"": (), "enabled": ("disabled",), "description": ("description",)}
_VLANS: dict[str, tuple[str, ...]] = dict.fromkeys(("mode", "untagged_vlan", "tagged_vlans"), ())
_TAGGED = dict.fromkeys(_VLANS, ("vlan_tag",))
_SWITCHED = {**_COMMON, "mode": ("mode",), "voice_vlan": ("voice_vlan",)}
_TRUNK = {**_SWITCHED, "untagged_vlan": ("native_vlan", "allowed_vlans"), "tagged_vlans": ("allowed_vlans",)}
_ACCESS = {**_SWITCHED, "untagged_vlan": ("access_vlan",), "tagged_vlans": ("mode",)}
"""By sort of port, which values of its interface each setting comes from."""


class _Sort(Enum):
    """How a port comes by its VLANs."""

    SWITCHED = auto()
    BRIDGED = auto()
    SUBDIVIDED = auto()
    ROUTED = auto()


class Ports:
    """Builds the ``ports`` area."""

    def __init__(self, platform: Platform, interfaces: Interfaces, layer2: Layer2, native_tagged: bool) -> None:
        self._interfaces = interfaces
        self._layer2 = layer2
        self._native_tagged = native_tagged
        ports = [i for i in interfaces.devices.values() if i.kind in _KINDS]
        self._all = ports + [
            interfaces.device(name) for name in layer2.members if name not in interfaces.devices and self._is_port(name)
        ]
        self.switching = any(not i.values.keys().isdisjoint(_SWITCHING) for i in ports)
        mode = platform.interfaces.default_mode
        self._bare_mode = mode if mode != "access_on_switches" else "access" if self.switching else "routed"

    def _is_port(self, name: str) -> bool:
        return self._interfaces.book.tell(name)[0] in _KINDS

    def build(self, evidence: Evidence) -> dict[str, Port]:
        """Return the ports by name, and say where each setting was read."""
        evidence.ask("ports", self._sources)
        return {interface.name: self._port(interface) for interface in self._all}

    def _port(self, interface: Interface) -> Port:
        match self._sort(interface):
            case _Sort.SWITCHED:
                return self._switched(interface)
            case _Sort.BRIDGED:
                untagged, tagged = self._layer2.bridged(interface)
                mode = "trunk" if tagged or interface.get("admits") == "tagged" else "access"
                return _port(interface, mode, untagged, tagged)
            case _Sort.SUBDIVIDED:
                tags = self._layer2.tags_on(interface.name)
                untagged = next((tag for tag, (_, native) in tags.items() if native), None)
                return _port(interface, "trunk", untagged, VlanSet(tags).but(untagged))
        return _port(interface, "routed", None, NO_VLANS)

    def _sort(self, interface: Interface) -> _Sort:
        """Return how a port comes by its VLANs."""
        values = interface.values
        if not values.get("routed"):
            if not values.keys().isdisjoint(_SWITCHING):
                return _Sort.SWITCHED
            if interface.name in self._layer2.members or self._interfaces.bridge(interface.name):
                return _Sort.BRIDGED
        if self._layer2.tags_on(interface.name):
            return _Sort.SUBDIVIDED
        if self._bare_mode == "access" and values.keys().isdisjoint(_ROUTED):
            return _Sort.SWITCHED
        return _Sort.ROUTED

    def _sources(self, name: str) -> list[Noted]:
        """Return where the settings of a port were read."""
        interface = self._interfaces.devices.get(name)
        if interface is None:
            return []
        match self._sort(interface):
            case _Sort.SWITCHED:
                return [(interface, _TRUNK if interface.get("mode") == "trunk" else _ACCESS)]
            case _Sort.BRIDGED:
                return [
                    (interface, _COMMON),
                    (Later(lambda: self._layer2.lines_of_bridged(interface)), {"": (), **_VLANS}),
                ]
            case _Sort.SUBDIVIDED:
                children = [child for child, _ in self._layer2.tags_on(name).values()]
                return [(interface, _COMMON), *((child, _TAGGED) for child in children)]
        return [(interface, {**_COMMON, "mode": _ROUTED})]

    def _switched(self, interface: Interface) -> Port:
        """A port with switching lines: the mode decides which of them count, as on the device."""
        values = interface.values
        mode = values.get("mode") or "access"
        voice = vlan_id(values["voice_vlan"]) if values.get("voice_vlan") else None
        if mode != "trunk":
            return _port(interface, mode, int(values.get("access_vlan") or 1), NO_VLANS, voice)
        allowed = allowed_vlans(values.get("allowed_vlans", ()))
        native = int(values.get("native_vlan") or 1)
        travels = native in allowed and not (self._native_tagged or values.get("native_tagged"))
        untagged = native if travels else None
        return _port(interface, mode, untagged, allowed.but(untagged), voice)


def _port(interface: Interface, mode: str, untagged: int | None, tagged: VlanSet, voice: int | None = None) -> Port:
    return Port.model_validate(
        {
            "enabled": interface.enabled,
            "mode": mode,
            "untagged_vlan": untagged,
            "tagged_vlans": tagged,
            "voice_vlan": voice,
            "description": interface.get("description") or None,
        }
    )
