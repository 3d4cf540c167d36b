"""Wi-Fi names: what each radio airs, and one entry a name made of all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from auditor.core.domains import Domain, in_order
from auditor.core.state import Setting, Ssid
from auditor.core.values import vlan_id
from auditor.passphrases import StoredPassphrase
from auditor.platforms.definition import any_of
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.wifi import RadioRow
from auditor.reading.source import Refs
from auditor.topology.air import RadioBridges
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence, Later, Sources
from auditor.topology.interfaces import PORT_KINDS, Interface
from auditor.topology.wifi_interfaces import WifiInterface

Value = TypeVar("Value")

_ACCESS_POINT = "ap"
_SOURCES: Sources = {
    "security": ("security", "security_mode"),
    "hidden": ("hidden", "broadcast"),
    "client_isolation": ("isolation", "forwarding"),
}
"""By setting, the values of a row that it comes from."""
_OLD = "wpa-personal"
_OLD_AND_NEW = ("wpa-wpa2-personal",)
_MASKED = any_of([r"<.*>", r"\*+", r"\$\{.*\}"])


@dataclass(slots=True)
class _Airing:
    """One Wi-Fi name on one radio, or on none."""

    row: WifiInterface
    radio: RadioRow | WifiInterface
    on: bool
    tag: Domain | None
    vlan: Domain | None
    band: str | None
    security: str
    hidden: bool
    isolated: bool


class ObservedSsids:
    """Builds the Wi-Fi names of a device.

    Attributes:
        passphrases: what the capture holds, by Wi-Fi name.
        not_shown: settings that it leaves open, with what would show them.
        elsewhere: another device says what a radio airs.
        on_bridges: names whose interfaces are on bridges without a number.
    """

    def __init__(self, topology: Topology) -> None:
        dialect = topology.dialect
        self._words = dialect.words
        self._interfaces = topology.interfaces
        self._layer2 = topology.layer2
        self._managed = topology.system.managed_radios if topology.system.wifi_elsewhere else ()
        self._rows = [row for row in topology.wifi.rows if not self._kept_elsewhere(row, topology.wifi.radios)]
        self.elsewhere = len(self._rows) < len(topology.wifi.rows)
        self._radios = topology.wifi.radios
        self._bridges = RadioBridges(topology.interfaces)
        self._radios_apart = any(rule.feature == "radio" for rule in dialect.platform.every_section)
        self.passphrases: dict[str, list[StoredPassphrase]] = {}
        self.not_shown: dict[Setting, str] = {}
        self.on_bridges: set[str] = set()

    def build(self, evidence: Evidence) -> dict[str, Ssid]:
        """Return one entry a Wi-Fi name. A value that its radios disagree on is a tuple of all of them."""
        airings: dict[str, list[_Airing]] = {}
        for row in self._rows:
            ssid = row.ssid
            if ssid and (not row.says("mode") or row.mode.lower() == _ACCESS_POINT):
                airings.setdefault(ssid, []).extend(self._air(row))
                self.passphrases.setdefault(ssid, []).extend(self._passphrases(row))
                if self._leaves_open(row):
                    self.not_shown[Setting("ssids", ssid, "security")] = "save a capture that shows passphrases"
        return {ssid: self._entry(ssid, found, evidence) for ssid, found in airings.items()}

    def _kept_elsewhere(self, row: WifiInterface, radios: Mapping[str, RadioRow | WifiInterface]) -> bool:
        """Return whether another device says what a radio airs, and what interfaces beside it on that radio do."""
        master = radios.get(row.master)
        managed = row.managed or (isinstance(master, WifiInterface) and master.managed)
        return managed or row.interface in self._managed or row.master in self._managed

    def _leaves_open(self, row: WifiInterface) -> bool:
        """Return whether a name's protection is not shown: a passphrase would mean one, and none at all is shown."""
        return bool(row.passphrase_means) and not any(other.passphrase for other in self._rows)

    def _air(self, row: WifiInterface) -> Iterator[_Airing]:
        """Yield the row once for each radio that airs it; once, and off, where none does."""
        names = {row.name, row.ssid}
        every = self._radios.values()
        radios = [radio for radio in every if isinstance(radio, RadioRow) and not names.isdisjoint(radio.ssids)]
        wanted = [name for name in (*row.radios, row.master) if name]
        aired_by: list[RadioRow | WifiInterface] = [*radios]
        aired_by = aired_by or [self._radios[name] for name in wanted if name in self._radios]
        alone = not wanted and not self._radios_apart
        device = self._interfaces.devices.get(row.interface)
        on = not row.disabled and (device is None or device.enabled)
        vlans = self._vlans(row)
        for radio in aired_by or [row]:
            own = (row if radio is row or not row.master else radio).band
            band = self._words.band(own or row.standard or radio.band or radio.name)
            tuned = not row.standard or band in (None, self._words.band(row.standard))
            for tag, vlan in self._wired(radio, vlans):
                if vlan != tag or self._layer2.over(row.interface):
                    self.on_bridges.add(row.ssid)
                yield _Airing(
                    row,
                    radio,
                    on=on and tuned and (alone or bool(aired_by)) and not radio.disabled,
                    tag=tag,
                    vlan=vlan,
                    band=band,
                    security=self._security(row, radio),
                    hidden=row.hidden or not row.broadcast or self._one_of_several(row, radio),
                    isolated=row.isolation or not row.forwarding or self._isolated(radio, tag),
                )

    def _security(self, row: WifiInterface, radio: RadioRow | WifiInterface) -> str:
        said = row.security or (row.passphrase_means if row.passphrase else ())
        ciphers = radio.ciphers if isinstance(radio, RadioRow) else ()
        by_vlan = [re.fullmatch(r"(\d*) ?(.*)", text) for text in ciphers]
        return self._words.security([*said, *(m[2] for m in by_vlan if m and m[1] == row.vlan)], row.security_mode)

    def _one_of_several(self, row: WifiInterface, radio: RadioRow | WifiInterface) -> bool:
        """Return whether its radio broadcasts several names or one, and this one only where it were the other way."""
        return row.says("by_several") and isinstance(radio, RadioRow) and row.by_several != radio.several

    def _wired(
        self, radio: RadioRow | WifiInterface, vlans: Sequence[Domain | None]
    ) -> list[tuple[Domain | None, Domain | None]]:
        """Return the VLANs on the air that a name is in, each with the domain in which its frames leave by wire."""
        if not self._listed_on_an_interface(radio):
            return [(vlan, self._behind(radio, vlan)) for vlan in vlans or [self._untagged(radio)]]
        if not vlans and not self._bridges.subdivided(radio.name):
            return [(None, self._untagged(radio))]
        wired = ((vlan, self._bridges.wired(radio.name, _number(vlan))) for vlan in vlans or [None])
        return [(vlan, self._beside_the_wire(radio, vlan) if behind is None else behind) for vlan, behind in wired]

    def _beside_the_wire(self, radio: RadioRow | WifiInterface, vlan: Domain | None) -> Domain | None:
        """Return the bridge without a number that a VLAN of a radio shares with what carries no tag by wire."""
        into = self._behind(radio, vlan)
        for bridge in self._layer2.plain_bridges() if isinstance(into, str) else ():
            wired = any(
                member.kind in PORT_KINDS and member.enabled for member in self._interfaces.members(bridge.name)
            )
            if wired and self._layer2.vlan_of(bridge) == into:
                return into
        return None

    def _listed_on_an_interface(self, radio: RadioRow | WifiInterface) -> bool:
        """Return whether a radio is an interface that lists its names: its subinterfaces take up their VLANs."""
        device = self._interfaces.devices.get(radio.name)
        return isinstance(radio, RadioRow) and bool(radio.ssids) and device is not None and device.kind == "radio"

    def _behind(self, radio: RadioRow | WifiInterface, vlan: Domain | None) -> Domain | None:
        """Return the domain that a VLAN of a radio leads into: where its subinterface is bridged with other VLANs."""
        tagged = self._layer2.tags_on(radio.name) if isinstance(vlan, int) and radio.name else {}
        return self._layer2.vlan_of(tagged[vlan][0]) if vlan in tagged else vlan

    def _isolated(self, radio: RadioRow | WifiInterface, vlan: Domain | None) -> bool:
        """Return whether stations are kept apart on the radio itself, or on its subinterface of a VLAN."""
        if isinstance(radio, RadioRow) and radio.bridge and radio.isolates:
            return True
        children = self._interfaces.children.get(radio.name, [])
        return any(child.isolates and child.vlan_tag == str(vlan) for child in children)

    def _untagged(self, radio: RadioRow | WifiInterface) -> Domain | None:
        """Return the domain of the bridge that a radio is on with all that carries no tag."""
        bridge = self._interfaces.shared_bridge(radio.bridge) if isinstance(radio, RadioRow) else None
        return self._layer2.vlan_of(bridge) if bridge else None

    def _vlans(self, row: WifiInterface) -> list[Domain | None]:
        """Return the domains that a Wi-Fi name leads into: one, but where it is tied to several networks; or none."""
        tag = vlan_id(row.vlan) if row.vlan and row.vlan_used else None
        local = row.local if row.says("local") else bool(tag)
        if self._layer2.alone_on_the_air(row.interface, row.bridge):
            return []
        if local or tag in self._layer2.tags_on(row.interface):
            return [tag]
        networks = [self._interfaces.find(name) for name in row.network]
        found = {self._of_network(network) for network in networks if network}
        if found:
            known = in_order(vlan for vlan in found if vlan is not None)
            return [None, *known] if None in found else [*known]
        joined = self._interfaces.devices.get(row.bridge)
        if joined:
            return [self._layer2.vlan_of(joined)]
        name = row.interface
        if name and (name in self._layer2.members or self._interfaces.bridge_of.get(name)):
            return [self._layer2.bridged(self._interfaces.device(name))[0]]
        return []

    def _of_network(self, network: Interface) -> Domain | None:
        """Return the domain of a network, if it lies on a bridge or in one: clients are joined to no other device."""
        below: Interface | None = network
        for _ in range(4):
            if below is None or below.kind != "network":
                break
            below = self._interfaces.below(below)
        over = self._interfaces.below(below) if below else None
        joins = any(each is not None and each.kind == "bridge" for each in (below, over))
        joins = joins or (below is not None and below.name in self._interfaces.bridge_of)
        return self._layer2.vlan_of(network) if network.enabled and joins else None

    def _entry(self, ssid: str, airings: list[_Airing], evidence: Evidence) -> Ssid:
        counted = [airing for airing in airings if airing.on] or airings
        self._note(ssid, airings, counted, evidence)
        bands = {airing.band for airing in counted}
        return Ssid(
            vlan=_agreed(airing.vlan for airing in counted),
            security=_agreed(airing.security for airing in counted),
            bands=None if None in bands else tuple(sorted(band for band in bands if band)),
            hidden=_agreed(airing.hidden for airing in counted),
            client_isolation=_agreed(airing.isolated for airing in counted),
            enabled=_agreed(airing.on for airing in airings),
        )

    def _note(self, ssid: str, airings: list[_Airing], counted: list[_Airing], evidence: Evidence) -> None:
        """Say where the settings of a Wi-Fi name were read; only some of its airings count for most of them."""
        for airing in airings:
            device = self._interfaces.devices.get(airing.row.interface)
            off_by = airing.radio if airing.radio.disabled else airing.row
            if device and not device.enabled:
                evidence.note("ssids", ssid, device, {"enabled": ("disabled",)})
            if airing.row.standard and airing.row.band:
                evidence.note("ssids", ssid, airing.row, {"enabled": ("standard", "band")})
            evidence.note("ssids", ssid, airing.row, {"": (), "passphrase_matches": ("passphrase", "older_passphrase")})
            evidence.note(
                "ssids",
                ssid,
                off_by,
                {"enabled": ("disabled",) if airing.radio is not airing.row else ("disabled", "radios")},
            )
        for airing in counted:
            evidence.note("ssids", ssid, airing.row, {**_SOURCES, "bands": ("radios", "master")})
            if isinstance(airing.radio, RadioRow) and airing.radio.ciphers:
                evidence.note("ssids", ssid, airing.radio, {"security": ("ciphers",)})
            evidence.note("ssids", ssid, airing.row, {"bands": ()})
            evidence.note("ssids", ssid, Later(partial(self._lines_of_vlan, airing)), {"vlan": ()})
            evidence.note("ssids", ssid, airing.row if airing.row.band else airing.radio, {"bands": ("band",)})

    def _lines_of_vlan(self, airing: _Airing) -> Refs:
        """Return the lines that lead a Wi-Fi name into its VLAN."""
        row = airing.row
        names: tuple[FieldName, ...] = ("vlan", "network", "bridge", *(("local",) if row.says("local") else ()))
        found = row.at(*names)
        if self._listed_on_an_interface(airing.radio):
            found += self._bridges.lines(airing.radio.name, _number(airing.tag))
        for name in row.network:
            network = self._interfaces.find(name)
            found += self._layer2.lines_of_vlan(network) if network else ()
        name = row.interface
        if name and not row.vlan and name in self._interfaces.devices:
            found += self._layer2.lines_of_bridged(self._interfaces.device(name))
        return found

    def _passphrases(self, row: WifiInterface) -> Iterator[StoredPassphrase]:
        """Yield the passphrase by which clients join, and the one for older clients where both sorts are let in."""
        security = self._security(row, row)
        older = row.older_passphrase
        both = security in _OLD_AND_NEW and older
        yield self._stored(older if security == _OLD and older else row.passphrase, row)
        if both:
            yield self._stored(older, row)

    def _stored(self, text: str, row: WifiInterface) -> StoredPassphrase:
        hidden = not text or _MASKED.fullmatch(text)
        return StoredPassphrase(text, "hidden" if hidden else self._words.form(row.passphrase_form))


def _agreed(values: Iterable[Value]) -> Value | tuple[Value, ...]:
    """Return the one value, or a sorted tuple of those that differ."""
    distinct = set(values)
    if len(distinct) == 1:
        return distinct.pop()
    return tuple(sorted(distinct, key=lambda value: (value is not None, isinstance(value, str), value)))


def _number(vlan: Domain | None) -> int | None:
    return vlan if isinstance(vlan, int) else None
