"""Rows about Wi-Fi made whole: lines about one interface added up, profiles looked up, absent lines filled in."""

from __future__ import annotations

from typing import Any

from auditor.reading.resolve.read_rows import ReadRow, ReadRows, Refs, RowDefaults, apply_defaults

_PROFILES = {
    "security_profile": "security",
    "datapath": "datapath",
    "channel": "channel",
    "configuration": "configuration",
}
"""By the field that names a profile, the space that its name lives in; the first wins over the last."""
_OF_THE_PROFILE = frozenset({"name", "space", "disabled"})
"""What a profile says of itself, not of the interfaces that use it."""


class WifiInterface:
    """All that is said of one Wi-Fi name on one interface."""

    def __init__(self, read_row: ReadRow) -> None:
        self.values: dict[str, Any] = dict(read_row.values)
        self._rows = [read_row]
        self._profiles: list[ReadRow] = []

    def get(self, name: str, default: Any = None) -> Any:
        """Return a value, or the default where nothing is said."""
        return self.values.get(name, default)

    def overrule(self, read_row: ReadRow) -> None:
        """Add a later line, which wins."""
        self.values.update(read_row.values)
        self._rows.insert(0, read_row)

    def take_over(self, profile: ReadRow) -> None:
        """Fill what is unsaid from a profile."""
        self._profiles.append(profile)
        for name, value in profile.values.items():
            if name not in _OF_THE_PROFILE:
                self.values.setdefault(name, value)

    def at(self, *names: str) -> Refs:
        """Return the lines of some values: those of the first who says them."""
        found: Refs = ()
        for name in names:
            asked = self._rows if name in _OF_THE_PROFILE else [*self._rows, *self._profiles]
            found += next((read_row.refs(name) for read_row in asked if name in read_row.values), ())
        return found or (self._rows[0].head,)


class WifiInterfaces:
    """The rows of all Wi-Fi names, and the radios that air them by name."""

    def __init__(self, read_rows: ReadRows, defaults: RowDefaults) -> None:
        self._defaults = defaults
        self._profiles = {
            (read_row.get("space"), read_row.get("name")): read_row for read_row in read_rows.get("wifi_profile", [])
        }
        self.radios: dict[str, ReadRow | WifiInterface] = {
            read_row.get("name", ""): read_row for read_row in read_rows.get("radio", [])
        }
        for radio in self.radios.values():
            apply_defaults(defaults["radio"], "", radio.values)
        self.rows = _merged(_declared(read_rows))
        for row in self.rows:
            self._inherit(row)
            if row.get("interface") and not row.get("master"):
                self.radios.setdefault(row.get("interface"), row)

    def tagging(self) -> frozenset[str]:
        """Return the interfaces that put a VLAN's tag on what they take from the air."""
        return frozenset(row.get("interface") for row in self.rows if row.get("vlan") and row.get("vlan_used", True))

    def _inherit(self, row: WifiInterface) -> None:
        """Fill what a row leaves unsaid: from its profiles and theirs, then by what an absent line means."""
        apply_defaults(self._defaults["wifi"], "", row.values, only=_PROFILES)
        used: set[str] = set()
        while True:
            field = next(
                (f for f, space in _PROFILES.items() if f not in used and (space, row.get(f)) in self._profiles), ""
            )
            if not field:
                break
            used.add(field)
            row.take_over(self._profiles[_PROFILES[field], row.get(field)])
        apply_defaults(self._defaults["wifi"], "", row.values)


def _declared(read_rows: ReadRows) -> list[ReadRow]:
    """Return the rows, and one for each name that a radio airs without a row of its own."""
    declared = [read_row for read_row in read_rows.get("wifi", []) if not read_row.get("inactive")]
    known = {read_row.get(name) for read_row in declared for name in ("ssid", "name")}
    for radio in read_rows.get("radio", []):
        for ssid in radio.get("ssids", []):
            if ssid not in known:
                known.add(ssid)
                declared.append(ReadRow({"ssid": ssid}, radio.head))
    return declared


def _merged(read_rows: list[ReadRow]) -> list[WifiInterface]:
    """Return one row for all lines about one interface, and one for each line that names none."""
    rows: list[WifiInterface] = []
    by_interface: dict[str, WifiInterface] = {}
    for read_row in read_rows:
        name = read_row.get("interface")
        if name in by_interface:
            by_interface[name].overrule(read_row)
            continue
        rows.append(WifiInterface(read_row))
        if name:
            by_interface[name] = rows[-1]
    return rows
