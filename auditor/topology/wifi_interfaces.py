"""Rows about Wi-Fi made whole: lines about one interface added up, profiles looked up, absent lines filled in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from auditor.core.values import vlan_id
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.wifi import RadioRow, WifiRow
from auditor.reading.source import Ref, Refs
from auditor.topology.evidence import apply_defaults
from auditor.topology.managed_radios import names_of_nothing, radios_there

_PROFILES = WifiRow.fields("security_profile", "datapath", "channel", "configuration")
_OF_THE_PROFILE = WifiRow.fields("name", "space", "disabled")
"""What a profile says of itself, not of the interfaces that use it."""


class Tagging(NamedTuple):
    """A tag that an interface puts on what it takes from the air; ``bridge``: where it says so itself, its bridge."""

    interface: str
    bridge: str
    tag: int
    row: WifiRow


class WifiInterface(WifiRow):
    """All that is said of one Wi-Fi name on one interface."""

    __slots__ = ("_profiles", "_rows")

    def __init__(self, row: WifiRow) -> None:
        super().__init__(dict(row.said), row.head)
        self._rows = [row]
        self._profiles: list[WifiRow] = []

    def overrule(self, row: WifiRow) -> None:
        """Add a later line, which wins."""
        self.said.update(row.said)
        self._rows.insert(0, row)

    def take_over(self, profile: WifiRow) -> None:
        """Fill what is unsaid from a profile."""
        self._profiles.append(profile)
        for name, value in profile.said.items():
            if name not in _OF_THE_PROFILE:
                self.said.setdefault(name, value)

    def refs(self, name: FieldName) -> Refs:
        """Return the lines of a value: those of the first who says it."""
        asked = self._rows if name in _OF_THE_PROFILE else [*self._rows, *self._profiles]
        return next((row.refs(name) for row in asked if row.says(name)), ())

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values; the first line of the last row where they have none."""
        return tuple(ref for name in names for ref in self.refs(name)) or (self._rows[0].head,)


class WifiInterfaces:
    """The rows of all Wi-Fi names, and the radios that air them by name."""

    def __init__(self, read_rows: ReadRows, defaults: RowDefaults) -> None:
        self._defaults = defaults["wifi"]
        self._all = read_rows
        self._of_nothing = list(names_of_nothing(read_rows))  # what radios list is taken from them further down
        in_use = (profile for profile in read_rows.wifi_profile if not profile.disabled)
        self._profiles = {(profile.space, profile.name): profile for profile in in_use}
        radios = radios_there(read_rows, defaults["radio"], defaults["wifi"])
        self.radios: dict[str, RadioRow | WifiInterface] = {radio.name: radio for radio in radios}
        self.rows = _merged(_declared(read_rows, radios))
        for row in self.rows:
            self._inherit(row)
            if row.interface and not row.master:
                self.radios.setdefault(row.interface, row)

    def unknown(self) -> Iterator[Ref]:
        """Yield the lines that name groups or profiles which no line makes, and those of several radios in one place.

        What absent lines name is built in.
        """
        yield from self._of_nothing
        made = {(profile.space, profile.name) for profile in self._all.wifi_profile}
        built_in = {str(value) for default in self._defaults for value in default.values.values()}
        for row in (*self._all.wifi, *self._all.wifi_profile) if made else ():
            for field, profile in row.profiles.items():
                if row.says(field) and profile not in made and profile[1] not in built_in:
                    yield from row.refs(field)
        places = Counter(radio.hardware for radio in self._all.radio if radio.hardware)
        for radio in self._all.radio:
            yield from radio.refs("hardware") if places[radio.hardware] > 1 else ()

    def tagging(self) -> list[Tagging]:
        """Return the tags that interfaces put on what they take from the air."""
        tagging = [row for row in self.rows if row.vlan and row.vlan_used and not row.disabled]
        return [Tagging(row.interface, row.bridge, vlan_id(row.vlan), row) for row in tagging]

    def joined(self) -> list[str]:
        """Return the bridges that interfaces say to join, as they come up."""
        return [row.bridge for row in self.rows if row.bridge and not row.disabled]

    def _inherit(self, row: WifiInterface) -> None:
        """Fill what a row leaves unsaid: from its profiles and theirs, then by what an absent line means."""
        apply_defaults(self._defaults, row, only=_PROFILES)
        used: set[FieldName] = set()
        while True:
            named = ((f, profile) for f, profile in row.profiles.items() if f not in used and profile in self._profiles)
            field, profile = next(named, (None, ("", "")))
            if field is None:
                break
            used.add(field)
            row.take_over(self._profiles[profile])
        apply_defaults(self._defaults, row)


def _declared(read_rows: ReadRows, radios: list[RadioRow]) -> list[WifiRow]:
    """Return the rows, and one for each name that a radio airs without a row of its own."""
    declared = [row for row in read_rows.wifi if not row.inactive]
    known = {name for row in declared for name in (row.ssid, row.name)}
    for radio in radios:
        for ssid in radio.ssids:
            if ssid not in known:
                known.add(ssid)
                declared.append(WifiRow({}, radio.head))
                declared[-1].ssid = ssid
    return declared


def _merged(rows: list[WifiRow]) -> list[WifiInterface]:
    """Return one row for all lines about one interface, and one for each line that names none."""
    found: list[WifiInterface] = []
    by_interface: dict[str, WifiInterface] = {}
    for row in rows:
        if row.interface in by_interface:
            by_interface[row.interface].overrule(row)
            continue
        found.append(WifiInterface(row))
        if row.interface:
            by_interface[row.interface] = found[-1]
    return found
