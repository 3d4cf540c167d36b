"""Ports: switched on or off, mode, VLANs, description."""

from __future__ import annotations

from enum import Enum, auto

from auditor.core.domains import Domain
from auditor.core.state import Port, Setting
from auditor.core.values import ALL_VLANS, NO_VLANS, VlanSet, allowed_vlans
from auditor.reading.fields import UNTAGGED
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Ref
from auditor.topology.device import SWITCHING, Topology
from auditor.topology.evidence import INSIDE, Evidence, Later, Noted, Sources
from auditor.topology.interfaces import PORT_KINDS, Interface
from auditor.topology.layer3 import ADDRESS, ADDRESSED, own_addresses
from auditor.topology.memberships import joined

_MORE_THAN_NATIVE = SWITCHING - {"native_vlan"}
_ONE_BY_ONE = Interface.fields("mode", "memberships", "trunk_memberships", "pvid")
_BY_MEMBERS = Interface.fields("vlan_members", "switched")
_OF_TRUNKS = Interface.fields("native_vlan", "allowed_vlans")
_ROUTING: tuple[FieldName, ...] = ("routed", "layer3", "addresses", "method")
_ROUTED = Interface.fields(*_ROUTING)
_COMMON: Sources = {"": (), "enabled": ("disabled",), "description": ("description", "label")}
_VLANS: Sources = dict.fromkeys(("mode", "untagged", "tagged"), ())
_TAGGED: Sources = dict.fromkeys(_VLANS, ("vlan_tag",))
_SWITCHED: Sources = {**_COMMON, "mode": ("mode", "listed_mode"), "voice": ("voice_vlan", "voice")}
_ALLOWED: tuple[FieldName, ...] = ("allowed_vlans", "vlan_members")
_TRUNK: Sources = {
    **_SWITCHED,
    "untagged": ("native_vlan", *_ALLOWED),
    "tagged": (*_ALLOWED, "trunk_groups"),
    "voice": ("voice_vlan", *_ALLOWED),
}
_ACCESS: Sources = {**_SWITCHED, "untagged": ("access_vlan", "vlan_members"), "tagged": ("mode", "vlan_members")}
_PHONE: Sources = {**_ACCESS, "untagged": ("native_vlan",), "voice": ("phone_vlan", "mode")}
_BY_MODE = {"trunk": _TRUNK, "phone": _PHONE}
_JOINING: tuple[FieldName, ...] = ("memberships", "trunk_memberships", "pvid", "off_vlans", "admits")
_JOINED: Sources = {**_SWITCHED, "untagged": _JOINING, "tagged": _JOINING}
"""By sort of port, which values of its interface each setting comes from."""
_SECTIONS: Sources = {"sections": ()}
"""Stands for no setting: lines that are the port's though none of them was read for one."""


class _Sort(Enum):
    """How a port comes by its VLANs."""

    SWITCHED = auto()
    BRIDGED = auto()
    SUBDIVIDED = auto()
    ROUTED = auto()


class ObservedPorts:
    """Builds the ports of a device."""

    def __init__(self, topology: Topology) -> None:
        platform, system = topology.platform, topology.system
        self._interfaces = topology.interfaces
        self._layer2 = topology.layer2
        self._native_tagged = system.native_tagged
        self._voice = system.voice_vlan if system.voice_used else ""
        model = platform.bridging
        self._trunks_add = model.trunks_add
        listed = (name for name in self._layer2.members if name not in self._interfaces.devices)
        self._all = [*topology.ports, *(self._interfaces.device(name) for name in listed if self._is_port(name))]
        self._negotiates = model.negotiates
        self._bundles_alone = not model.bundled_ports
        self.not_shown: dict[Setting, str] = {}
        self._listing = _command_that_lists(topology)
        self._access = model.untouched == "access" or (model.untouched == "some-switch" and topology.switching)

    def _is_port(self, name: str) -> bool:
        return self._interfaces.book.tell(name)[0] in PORT_KINDS

    def build(self, evidence: Evidence) -> dict[str, Port]:
        """Return the ports by name, and say where each setting was read."""
        evidence.ask("ports", self._sources)
        found = {interface.name: self._port(interface) for interface in self._all}
        self._leave_open()
        return found

    def _leave_open(self) -> None:
        """Say what is not shown of ports whose mode no line says, where they may negotiate it."""
        for interface in self._all if self._negotiates else ():
            decides = self._interfaces.bundle_of(interface) or interface
            if decides.says("mode") or self._sort(decides) != _Sort.SWITCHED or decides.says_any(_BY_MEMBERS):
                continue
            fields = ("mode", "tagged", *(["untagged"] if decides.says_any(_OF_TRUNKS) else []))
            self.not_shown.update((Setting("ports", interface.name, name), self._listing) for name in fields)

    def _port(self, interface: Interface) -> Port:
        bundle = self._interfaces.bundle_of(interface)
        if bundle is None or bundle is interface:
            return self._alone(interface)
        own = {"enabled": interface.enabled, "description": interface.description or None}
        return self._alone(bundle).model_copy(update=own)

    def _alone(self, interface: Interface) -> Port:
        match self._sort(interface):
            case _Sort.SWITCHED:
                return self._switched(interface)
            case _Sort.BRIDGED:
                untagged, tagged = self._layer2.bridged(interface)
                mode = "trunk" if tagged or interface.admits == "tagged" else "access"
                return self._with_voice(interface, mode, untagged, tagged)
            case _Sort.SUBDIVIDED:
                tags = self._layer2.tags_on(interface.name)
                own = self._layer2.names.number(interface.native_vlan)
                untagged = next((tag for tag, (_, native) in tags.items() if native or tag == own), None)
                return _port(interface, "trunk", untagged, VlanSet(tags).but(untagged))
        return _port(interface, "routed", None, NO_VLANS)

    def _sort(self, interface: Interface) -> _Sort:
        """Return how a port comes by its VLANs."""
        if not interface.routed:
            apart = self._listed(interface) or self._native_of_tags(interface)
            if interface.says_any(SWITCHING) and not apart:
                return _Sort.SWITCHED
            if interface.name in self._layer2.members or self._interfaces.bridge(interface.name):
                return _Sort.BRIDGED
        if self._layer2.tags_on(interface.name):
            return _Sort.SUBDIVIDED
        if self._access and not interface.says_any(_ROUTED):
            return _Sort.SWITCHED
        return _Sort.ROUTED

    def _joins(self, interface: Interface) -> bool:
        """Return whether the lines that put a port into VLANs one by one count in its mode."""
        if interface.mode == "trunk":
            return self._trunks_add
        return interface.says_any(_ONE_BY_ONE) and (interface.mode == "general" or not interface.says("mode"))

    def unknown(self) -> list[Ref]:
        """Return the lines by which a port sends several VLANs untagged, or has an address beside its VLANs.

        No setting can say so.
        """
        found: list[Ref] = []
        for interface in self._all:
            natives = [child for child in self._interfaces.children.get(interface.name, ()) if child.tag_native]
            if natives and interface.addresses:
                found += interface.at("addresses")
            elif interface.says_any(ADDRESSED) and self._sort(interface) == _Sort.SWITCHED and own_addresses(interface):
                found += [ref for name in ADDRESS for ref in interface.refs(name)]
            if interface.says("memberships") and self._joins(interface) and self._sort(interface) == _Sort.SWITCHED:
                beyond = joined(interface).beyond
                lines = zip(interface.memberships, interface.refs_of_each("memberships"), strict=False)
                found += [ref for (how, vids), ref in lines if how == UNTAGGED and not beyond.isdisjoint(vids)]
        return found

    def _listed(self, interface: Interface) -> bool:
        """Return whether a port is on a bridge and has a list of tagged VLANs there, but no mode."""
        return bool(self._interfaces.bridge(interface.name)) and not interface.says("mode")

    def _native_of_tags(self, interface: Interface) -> bool:
        """Return whether a native VLAN is that of subinterfaces, for nothing else says that the port switches."""
        alone = interface.says("native_vlan") and not interface.says_any(_MORE_THAN_NATIVE)
        return alone and bool(self._layer2.tags_on(interface.name))

    def _sources(self, name: str) -> list[Noted]:
        """Return where the settings of a port were read, and the ports in a bundle that alone counts."""
        interface = self._interfaces.devices.get(name)
        if interface is None:
            return []
        inside = interface.members if interface.kind == "bundle" and self._bundles_alone else ()
        ports = [(self._interfaces.device(port), INSIDE) for port in inside]
        return [*self._told_by(interface), *ports, (Later(lambda: interface.heads), _SECTIONS)]

    def _told_by(self, interface: Interface) -> list[Noted]:
        """Return where the settings of a port were read, but for ports in it and what else stands in its sections."""
        bundle = self._interfaces.bundle_of(interface)
        if bundle and bundle is not interface:
            told = [
                (source, {k: v for k, v in names.items() if k in _VLANS}) for source, names in self._told_by(bundle)
            ]
            return [(interface, {**_COMMON, **dict.fromkeys(_VLANS, ("bundle",))}), *told]
        match self._sort(interface):
            case _Sort.SWITCHED:
                joins = self._joins(interface)
                return [(interface, _JOINED if joins else _BY_MODE.get(interface.mode, _ACCESS))]
            case _Sort.BRIDGED:
                return [
                    (interface, _COMMON),
                    (Later(lambda: self._layer2.lines_of_bridged(interface)), {"": (), "voice": (), **_VLANS}),
                ]
            case _Sort.SUBDIVIDED:
                children = [child for child, _ in self._layer2.tags_on(interface.name).values()]
                return [(interface, _COMMON), *((child, _TAGGED) for child in children)]
        return [(interface, {**_COMMON, "mode": _ROUTING})]

    def _switched(self, interface: Interface) -> Port:
        """A port with switching lines: the mode decides which of them count, as on the device."""
        mode = interface.mode or "access"
        voice = self._layer2.names.number(interface.voice_vlan or (self._voice if interface.voice else ""))
        if interface.says_any(_BY_MEMBERS):
            return self._by_members(interface, mode, voice)
        if self._joins(interface):
            untagged, tagged, _ = joined(interface)
            if interface.voice and list(tagged) == [voice]:
                tagged = NO_VLANS
            elif interface.voice:
                voice = None  # it has to be in the VLAN that telephones tag; one that is in more is a trunk
            access = mode != "trunk" and not tagged and interface.admits != "tagged"
            return _port(interface, "access" if access else "trunk", untagged, tagged, voice)
        native = int(interface.native_vlan or 1)
        if mode == "phone":
            return _port(interface, "access", native, NO_VLANS, int(interface.phone_vlan or 0) or None)
        if mode != "trunk":
            return _port(interface, mode, int(interface.access_vlan or 1), NO_VLANS, voice)
        kept_off = self._layer2.of_other_groups(interface.trunk_groups)
        tags_it = self._native_tagged or interface.native_tagged
        alone = NO_VLANS if tags_it else VlanSet([native])
        start = alone if interface.native_alone else ALL_VLANS
        allowed = allowed_vlans(interface.allowed_vlans, start).but(*kept_off, *interface.off_vlans)
        travels = native in allowed and not tags_it
        untagged = native if travels else None
        return self._with_voice(interface, mode, untagged, allowed.but(untagged), voice)

    def _with_voice(
        self, interface: Interface, mode: str, untagged: Domain | None, tagged: VlanSet, voice: int | None = None
    ) -> Port:
        """A port of a dialect whose voice VLAN is a tagged one with a mark is an access port with that alone."""
        if untagged and len(tagged) == 1 and tagged <= self._layer2.voice:
            return _port(interface, "access", untagged, NO_VLANS, min(tagged))
        return _port(interface, mode, untagged, tagged, voice)

    def _by_members(self, interface: Interface, mode: str, voice: int | None) -> Port:
        """A port that is a member of VLANs; where it is no trunk, those beyond the first are told as tagged ones."""
        names = self._layer2.names
        members = interface.vlan_members
        vids = [vid for name in members for vid in sorted(names.of(name) or ())]
        if mode == "trunk":
            native = names.number(interface.native_vlan)
            untagged = native if native in vids else None
        else:
            untagged = vids[0] if vids else None if members else names.of_untouched()
        return _port(interface, mode, untagged, VlanSet(vids).but(untagged), voice)


def _command_that_lists(topology: Topology) -> str:
    """Return what to save to see the modes of ports."""
    listing = {each.name for each in topology.dialect.templates if "LISTED_MODE" in each.value_names}
    for line, command in topology.platform.commands.items():
        if any(rule.template in listing for rule in command.sections):
            return f'no line says its mode; also save the output of "{line}"'
    return "no line says its mode; check it by hand"


def _port(interface: Interface, mode: str, untagged: Domain | None, tagged: VlanSet, voice: int | None = None) -> Port:
    return Port.model_validate(
        {
            "enabled": interface.enabled,
            "mode": mode,
            "untagged": untagged,
            "tagged": tagged,
            "voice": voice,
            "description": interface.description or interface.label or None,
        }
    )
