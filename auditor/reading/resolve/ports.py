"""Ports: switched on or off, mode, VLANs, description."""

from __future__ import annotations

from auditor.model.state import Port
from auditor.model.values import NO_VLANS, VlanSet, allowed_vlans, vlan_id
from auditor.platforms.definition import Platform
from auditor.reading.resolve.facts import Evidence, Later, Refs
from auditor.reading.resolve.interfaces import Interface, Interfaces
from auditor.reading.resolve.layer2 import Layer2

_SWITCHING = ("mode", "access_vlan", "native_vlan", "allowed_vlans", "voice_vlan", "tagged_vlans")
_KINDS = ("port", "bundle")
_COMMON = {"": (), "enabled": ("disabled",), "description": ("description",)}
_BRIDGED = dict.fromkeys(("mode", "untagged_vlan", "tagged_vlans"), ())
_ROUTED = {**_COMMON, "mode": ("routed", "addresses")}
_SWITCHED = {**_COMMON, "mode": ("mode",), "voice_vlan": ("voice_vlan",)}
_TRUNK = {**_SWITCHED, "untagged_vlan": ("native_vlan", "allowed_vlans"), "tagged_vlans": ("allowed_vlans",)}
_ACCESS = {**_SWITCHED, "untagged_vlan": ("access_vlan",), "tagged_vlans": ("mode",)}
"""By kind of port, which values of its interface each setting comes from."""


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
        """Return the ports by name, and note where each setting was read."""
        return {interface.name: self._port(interface, evidence) for interface in self._all}

    def _port(self, interface: Interface, evidence: Evidence) -> Port:
        values = interface.values
        if not values.get("routed"):
            if not values.keys().isdisjoint(_SWITCHING):
                return self._switched(interface, evidence)
            if interface.name in self._layer2.members or self._interfaces.bridge(interface.name):
                return self._bridged(interface, evidence)
        tags = self._layer2.tags_on(interface.name)
        if tags:
            return self._subdivided(interface, tags, evidence)
        if self._bare_mode == "access" and not (values.keys() & {"routed", "layer3", "addresses", "method"}):
            return self._switched(interface, evidence)
        evidence.note("ports", interface.name, interface, _ROUTED)
        return _port(interface, mode="routed")

    def _bridged(self, interface: Interface, evidence: Evidence) -> Port:
        untagged, tagged = self._layer2.bridged(interface)
        evidence.note("ports", interface.name, interface, _COMMON)
        evidence.note("ports", interface.name, Later(lambda: self._layer2.lines_of_bridged(interface)), _BRIDGED)
        mode = "trunk" if tagged or interface.get("admits") == "tagged" else "access"
        return _port(interface, mode=mode, untagged_vlan=untagged, tagged_vlans=tagged)

    def _subdivided(self, interface: Interface, tags: dict[int, tuple[Interface, bool]], evidence: Evidence) -> Port:
        """A port with tagged subinterfaces is a trunk of their VLANs."""

        def lines() -> Refs:
            return tuple(ref for child, _ in tags.values() for ref in child.at("vlan_tag"))

        evidence.note("ports", interface.name, interface, _COMMON)
        evidence.note("ports", interface.name, Later(lines), _BRIDGED)
        untagged = next((tag for tag, (_, native) in tags.items() if native), None)
        return _port(interface, mode="trunk", untagged_vlan=untagged, tagged_vlans=VlanSet(tags).but(untagged))

    def _switched(self, interface: Interface, evidence: Evidence) -> Port:
        """A port with switching lines: the mode decides which of them count, as on the device."""
        mode = interface.get("mode") or "access"
        voice = interface.get("voice_vlan")
        evidence.note("ports", interface.name, interface, _TRUNK if mode == "trunk" else _ACCESS)
        untagged: int | None
        if mode == "trunk":
            allowed = allowed_vlans(interface.get("allowed_vlans", []))
            native = int(interface.get("native_vlan") or 1)
            travels = native in allowed and not (self._native_tagged or interface.get("native_tagged"))
            untagged = native if travels else None
            tagged = allowed.but(untagged)
        else:
            untagged, tagged = int(interface.get("access_vlan") or 1), NO_VLANS
        return _port(
            interface,
            mode=mode,
            untagged_vlan=untagged,
            tagged_vlans=tagged,
            voice_vlan=vlan_id(voice) if voice else None,
        )


def _port(interface: Interface, **values: object) -> Port:
    return Port.model_validate(
        {"enabled": interface.enabled, "description": interface.get("description") or None, **values}
    )
