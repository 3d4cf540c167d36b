"""Rows about Wi-Fi made whole: lines about one interface added up, profiles looked up, absent lines filled in."""

from __future__ import annotations

from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.wifi import RadioRow, WifiRow
from auditor.reading.source import Refs
from auditor.topology.evidence import apply_defaults

_PROFILES = WifiRow.fields("security_profile", "datapath", "channel", "configuration")
_OF_THE_PROFILE = WifiRow.fields("name", "space", "disabled")
"""What a profile says of itself, not of the interfaces that use it."""


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
        self._profiles = {(profile.space, profile.name): profile for profile in read_rows.wifi_profile}
        self.radios: dict[str, RadioRow | WifiInterface] = {radio.name: radio for radio in read_rows.radio}
        for radio in self.radios.values():
            apply_defaults(defaults["radio"], radio)
        self.rows = _merged(_declared(read_rows))
        for row in self.rows:
            self._inherit(row)
            if row.interface and not row.master:
                self.radios.setdefault(row.interface, row)

    def tagging(self) -> frozenset[str]:
        """Return the interfaces that put a VLAN's tag on what they take from the air."""
        return frozenset(row.interface for row in self.rows if row.vlan and row.vlan_used)

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


def _declared(read_rows: ReadRows) -> list[WifiRow]:
    """Return the rows, and one for each name that a radio airs without a row of its own."""
    declared = [row for row in read_rows.wifi if not row.inactive]
    known = {name for row in declared for name in (row.ssid, row.name)}
    for radio in read_rows.radio:
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
