"""What is read of a device beside its settings: how these hang together, and what has no effect."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from auditor.areas.observation import Observation
from auditor.core.domains import Domain
from auditor.core.observed import Observed
from auditor.core.state import DeviceState, Gateway, Setting
from auditor.core.values import VlanSet
from auditor.passphrases import StoredPassphrase
from auditor.reading.source import Lines, Refs
from auditor.topology.aggregation import Aggregation, aggregations
from auditor.topology.interfaces import IPV4
from auditor.topology.routes import Routes, routes_of
from auditor.topology.snooping import Snooped, snooped_in
from auditor.topology.system import DEFAULT_VRF


class DeviceRead:
    """The part of a reading that its topology tells."""

    __slots__ = ()

    lines: list[Lines]
    observed: Observed
    numbered: Mapping[str, int]
    _seen: Observation

    @property
    def state(self) -> DeviceState:
        """The observed settings."""
        return self.observed.settings

    @property
    def not_shown(self) -> dict[Setting, str]:
        """Areas, or fields of them, that this capture cannot show, with what to do about it."""
        return self._seen.not_shown

    @property
    def born_as(self) -> dict[str, str]:
        """Names that ports were born with, and their names now."""
        return self._seen.topology.born_as

    @property
    def bundles(self) -> dict[str, str]:
        """By the name of a port the bundle that it is in."""
        interfaces = self._seen.topology.interfaces
        devices = interfaces.devices
        found = ((name, interfaces.bundle_of(each)) for name, each in devices.items() if each.bundle)
        listed = {name: each.name for each in devices.values() if each.kind == "bundle" for name in each.members}
        return {**listed, **{name: bundle.name for name, bundle in found if bundle}}

    @property
    def passphrases(self) -> dict[str, list[StoredPassphrase]]:
        """By Wi-Fi name, the passphrases as they are stored; secret."""
        return self._seen.passphrases

    @property
    def aggregations(self) -> dict[str, Aggregation]:
        """By bundle how it is made."""
        return aggregations(self._seen.topology.interfaces)

    @property
    def snooped(self) -> Snooped:
        """What is snooped of DHCP."""
        return snooped_in(self._seen.topology, self.state.ports)

    @property
    def routes(self) -> Routes:
        """The static routes."""
        return routes_of(self._seen.topology)

    @property
    def behind_what_is_off(self) -> frozenset[str]:
        """Ports on bridges without a number that are off: nothing passes, unless each goes on by itself then."""
        layer2 = self._seen.topology.layer2
        found = ((name, layer2.over(name)) for name in self.state.ports if not layer2.model.members_first)
        return frozenset(name for name, bridge in found if bridge and not bridge.enabled)

    @property
    def ineffective(self) -> frozenset[Setting]:
        """Ports and gateways that are set up and lead nowhere: bundles without ports, and what lies on such bridges."""
        return frozenset(map(self._with_number, self._seen.topology.ineffective))

    @property
    def lower_layer_down(self) -> frozenset[Setting]:
        """Ports and gateways that are on themselves and off by what is beneath them: a bundle's ports, a parent."""
        return frozenset(map(self._with_number, self._seen.topology.lower_layer_down))

    def _with_number(self, setting: Setting) -> Setting:
        return setting._replace(key=str(self.numbered.get(setting.key, setting.key)))

    @property
    def leads(self) -> dict[str, dict[int, Domain]]:
        """By port the domains that its tags lead into, where these are bridges without a number."""
        interfaces, layer2 = self._seen.topology.interfaces, self._seen.topology.layer2
        found = {name: layer2.leads(interfaces.device(name)) for name in self.state.ports}
        return {
            port: {tag: self.numbered.get(str(into), into) for tag, into in tags.items()}
            for port, tags in found.items()
            if tags
        }

    @property
    def tags_into(self) -> dict[str, VlanSet]:
        """By bridge without a number, as the state has it, the tags that lead into it."""
        layer2 = self._seen.topology.layer2
        return {str(layer2.vlan_of(bridge)): layer2.tags_of(bridge) for bridge in layer2.plain_bridges()}

    @property
    def on_bridges(self) -> frozenset[Setting]:
        """Ports that are on bridges without a number, and Wi-Fi names that are aired by what is on one."""
        layer2 = self._seen.topology.layer2
        ports = {Setting("ports", name) for name in self.state.ports if layer2.over(name)}
        return frozenset(ports | {Setting("ssids", name) for name in self._seen.aired_on_bridges})

    @property
    def in_tables(self) -> frozenset[str]:
        """Ports that tables by VLAN put into VLANs with a number."""
        return frozenset(self._seen.topology.layer2.members)

    @property
    def served_in(self) -> dict[str, Domain | None]:
        """By its prefix the domain that a DHCP scope is served in, where its interface is said; numbered for none."""
        return self._seen.served_in

    @property
    def blocked(self) -> set[Setting]:
        """What is set up and has no effect, for the zone or the encapsulation of its interface lets nothing in."""
        return self._seen.topology.blocked

    @property
    def zoned(self) -> bool:
        """Whether zones decide what the device lets in."""
        return self._seen.topology.zones.used

    def is_inherited(self, setting: Setting) -> bool:
        """Return whether a line that says a setting stands in a group, from which other places may have it, too."""
        refs = (ref for place in self._as_noted(setting) for ref in self._seen.evidence.of(place))
        return any(ref.line in self.lines[ref.source].inherited for ref in refs)

    @property
    def vlans_off(self) -> frozenset[int]:
        """VLANs that a line switches off, be they built in or not."""
        return frozenset(self._seen.topology.layer2.off)

    @property
    def voice_marked(self) -> bool:
        """Whether a voice VLAN is a tagged one with a mark: a port in it is a trunk just as well."""
        return bool(self._seen.topology.layer2.voice)

    @property
    def routing(self) -> bool:
        """Whether the device passes packets on between its layer-3 interfaces."""
        return self._seen.topology.system.routing

    @property
    def managed_in(self) -> int | None:
        """The one VLAN in which the device is managed, and which it does not route; ``None`` where there is none."""
        return int(self._seen.topology.system.managed_in or 0) or None

    def _own_addresses(self, vid: int) -> tuple[str, ...]:
        found = self.state.gateways.get(vid)
        return found.addresses if found else ()

    @property
    def vrf_of(self) -> dict[Setting, str]:
        """By gateway and uplink, the VRF, where that is not the default one."""
        return {self._with_number(item): vrf for item, vrf in self._seen.topology.layer3.vrf_of.items()}

    def routing_in(self, vrf: str) -> bool:
        """Return whether the device passes packets on between its layer-3 interfaces of a VRF."""
        return self._seen.topology.system.routing_in(vrf)

    @property
    def gateways_of_ports(self) -> dict[str, Gateway]:
        """What ports that are in no VLAN have of a gateway: their addresses, shared ones, relays."""
        return self._seen.gateways_of_ports

    @property
    def own_addresses(self) -> frozenset[str]:
        """The device's own IPv4 addresses, and those that it shares."""
        return frozenset(a for a in self._seen.topology.layer3.own if IPV4.fullmatch(a))

    @property
    def answers_at_some(self) -> bool:
        """Whether a login, or SNMP, is answered at some of the device's addresses alone."""
        system = self._seen.topology.system
        return bool(system.snmp_at or system.snmp_on) or any(row.answers_at for row in (*system.here, *system.apart))

    def offered_at(self, address: str) -> set[str]:
        """Return the ways to log in, and ``snmp``, that are open in the VRF of one of the device's own addresses."""
        only = self.managed_in
        if only is not None and all(not a.startswith(f"{address}/") for a in self._own_addresses(only)):
            return set()
        topology = self._seen.topology
        layer3, system = topology.layer3, topology.system
        at = {"http": system.http_at, "https": system.https_at, "snmp": system.snmp_on}
        vrf = layer3.vrfs.get(address, DEFAULT_VRF) if topology.dialect.tells_logins_by_vrf else DEFAULT_VRF
        offered = {name for name in self._seen.offered.get(vrf, set()) if system.answers_by(name, vrf, address)}
        offered = {name for name in offered if address not in layer3.own or topology.answers(name, address)}
        return layer3.offered_at(address, {name: at.get(name, ()) for name in offered})

    def vrfs_at(self, address: str) -> set[str]:
        """Return the VRF of one of the device's addresses; where it is leased, those in which addresses are."""
        layer3 = self._seen.topology.layer3
        if address in layer3.own:
            return {layer3.vrfs.get(address, DEFAULT_VRF)}
        return {interface.vrf or DEFAULT_VRF for interface in layer3.leased if layer3.up(interface)}

    def asked_in_vrfs(self) -> Iterator[tuple[str, str, str, Refs]]:
        """Yield each server that is asked in another VRF than the default one: the VRF, what for, whom, the lines."""
        yield from self._seen.topology.system.asked_in_vrfs()

    def is_beside(self, vrf: str, server: str) -> bool:
        """Return whether a server is on a network of an interface in a VRF."""
        return self._seen.topology.layer3.is_beside(vrf, server)

    def _as_noted(self, setting: Setting) -> list[Setting]:
        """Return the places under which the evidence of a setting was noted: by names of birth, by bridges' names."""
        key = self.born_as.get(setting.key, setting.key) if setting.area in ("ports", "uplinks") else setting.key
        places = [setting._replace(key=key)]
        if setting.area in ("vlans", "gateways"):
            places += [setting._replace(key=name) for name, vid in self.numbered.items() if str(vid) == key]
        return places

    def _also_called(self, place: Setting) -> list[Setting]:
        """Return a place by the other name that a plan may use: a port's name of birth, a bridge's number."""
        if place.area in ("ports", "uplinks"):
            return [place._replace(key=born) for born, now in self.born_as.items() if now == place.key != born]
        if place.area in ("vlans", "gateways") and place.key in self.numbered:
            return [place._replace(key=str(self.numbered[place.key]))]
        return []
