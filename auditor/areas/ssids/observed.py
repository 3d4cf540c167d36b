"""Wi-Fi names: what each radio airs, and one entry a name made of all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from auditor.core.state import Setting, Ssid
from auditor.core.values import vlan_id
from auditor.passphrases import StoredPassphrase
from auditor.platforms.definition import any_of
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.wifi import RadioRow
from auditor.reading.source import Refs
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence, Later, Sources
from auditor.topology.wifi_interfaces import WifiInterface

Value = TypeVar("Value")

_ACCESS_POINT = "ap"
_SOURCES: Sources = {
    "security": ("security", "security_mode"),
    "hidden": ("hidden", "broadcast"),
    "client_isolation": ("isolation", "forwarding"),
}
"""By setting, the values of a row that it comes from."""
_MASKED = any_of([r"<.*>", r"\*+", r"\$\{.*\}"])


@dataclass(slots=True)
class _Airing:
    """One Wi-Fi name on one radio, or on none."""

    row: WifiInterface
    radio: RadioRow | WifiInterface
    on: bool
    vlan: int | None
    band: str | None
    security: str
    hidden: bool
    isolated: bool


class ObservedSsids:
    """Builds the Wi-Fi names of a device.

    Attributes:
        passphrases: what the capture holds, by Wi-Fi name.
        not_shown: settings that it leaves open, with what would show them.
    """

    def __init__(self, topology: Topology) -> None:
        dialect = topology.dialect
        self._words = dialect.words
        self._interfaces = topology.interfaces
        self._layer2 = topology.layer2
        self._rows = topology.wifi.rows
        self._radios = topology.wifi.radios
        self._radios_apart = any(rule.feature == "radio" for rule in dialect.platform.every_section)
        self.passphrases: dict[str, list[StoredPassphrase]] = {}
        self.not_shown: dict[Setting, str] = {}

    def build(self, evidence: Evidence) -> dict[str, Ssid]:
        """Return one entry a Wi-Fi name. A value that its radios disagree on is a tuple of all of them."""
        airings: dict[str, list[_Airing]] = {}
        for row in self._rows:
            ssid = row.ssid
            if ssid and (not row.says("mode") or row.mode.lower() == _ACCESS_POINT):
                airings.setdefault(ssid, []).extend(self._air(row))
                self.passphrases.setdefault(ssid, []).append(self._passphrase(row))
                if self._leaves_open(row):
                    self.not_shown[Setting("ssids", ssid, "security")] = "save a capture that shows passphrases"
        return {ssid: self._entry(ssid, found, evidence) for ssid, found in airings.items()}

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
            band = own or radio.band or radio.name
            for vlan in vlans or [self._untagged(radio)]:
                yield _Airing(
                    row,
                    radio,
                    on=on and (alone or bool(aired_by)) and not radio.disabled,
                    vlan=vlan,
                    band=self._words.band(band),
                    security=self._security(row),
                    hidden=row.hidden or not row.broadcast,
                    isolated=row.isolation or not row.forwarding or self._isolated(radio, vlan),
                )

    def _security(self, row: WifiInterface) -> str:
        said = row.security or (row.passphrase_means if row.passphrase else ())
        return self._words.security(said, row.security_mode)

    def _isolated(self, radio: RadioRow | WifiInterface, vlan: int | None) -> bool:
        """Return whether stations are kept apart on the radio itself, or on its subinterface of a VLAN."""
        if isinstance(radio, RadioRow) and radio.bridge and radio.isolation:
            return True
        children = self._interfaces.children.get(radio.name, [])
        return any(child.isolation and child.vlan_tag == str(vlan) for child in children)

    def _untagged(self, radio: RadioRow | WifiInterface) -> int | None:
        """Return the VLAN of the bridge that a radio is on with all that carries no tag."""
        bridge = self._interfaces.shared_bridge(radio.bridge) if isinstance(radio, RadioRow) else None
        return self._layer2.vlan_of(bridge) if bridge else None

    def _vlans(self, row: WifiInterface) -> list[int | None]:
        """Return the VLANs that a Wi-Fi name leads into: one, but where it is tied to several networks; or none."""
        tag = vlan_id(row.vlan) if row.vlan and row.vlan_used else None
        local = row.local if row.says("local") else bool(tag)
        if local or tag in self._layer2.tags_on(row.interface):
            return [tag]
        networks = [self._interfaces.find(name) for name in row.network]
        found = {self._layer2.vlan_of(network) if network.enabled else None for network in networks if network}
        if found:
            return sorted(found, key=lambda vlan: vlan or 0)
        name = row.interface
        if name and (name in self._layer2.members or self._interfaces.bridge_of.get(name)):
            return [self._layer2.bridged(self._interfaces.device(name))[0]]
        return []

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
            evidence.note("ssids", ssid, airing.row, {"": (), "passphrase_matches": ("passphrase",)})
            evidence.note(
                "ssids",
                ssid,
                off_by,
                {"enabled": ("disabled",) if airing.radio is not airing.row else ("disabled", "radios")},
            )
        for airing in counted:
            evidence.note("ssids", ssid, airing.row, {**_SOURCES, "bands": ("radios", "master")})
            evidence.note("ssids", ssid, airing.row, {"bands": ()})
            evidence.note("ssids", ssid, Later(partial(self._lines_of_vlan, airing.row)), {"vlan": ()})
            evidence.note("ssids", ssid, airing.row if airing.row.band else airing.radio, {"bands": ("band",)})

    def _lines_of_vlan(self, row: WifiInterface) -> Refs:
        """Return the lines that lead a Wi-Fi name into its VLAN."""
        names: tuple[FieldName, ...] = ("vlan", "network", "local") if row.says("local") else ("vlan", "network")
        found = row.at(*names)
        for name in row.network:
            network = self._interfaces.find(name)
            found += self._layer2.lines_of_vlan(network) if network else ()
        name = row.interface
        if name and not row.vlan and name in self._interfaces.devices:
            found += self._layer2.lines_of_bridged(self._interfaces.device(name))
        return found

    def _passphrase(self, row: WifiInterface) -> StoredPassphrase:
        text = row.passphrase
        hidden = not text or _MASKED.fullmatch(text)
        return StoredPassphrase(text, "hidden" if hidden else self._words.form(row.passphrase_form))


def _agreed(values: Iterable[Value]) -> Value | tuple[Value, ...]:
    """Return the one value, or a sorted tuple of those that differ."""
    distinct = set(values)
    if len(distinct) == 1:
        return distinct.pop()
    return tuple(sorted(distinct, key=lambda value: (value is not None, value)))
