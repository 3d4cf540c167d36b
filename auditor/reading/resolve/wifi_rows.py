"""Rows about Wi-Fi made whole: lines about one interface added up, profiles looked up, absent lines filled in."""

from __future__ import annotations

from typing import Any

from auditor.reading.resolve.facts import Defaults, Fact, Facts, Refs, apply_defaults

_PROFILES = {
    "security_profile": "security",
    "datapath": "datapath",
    "channel": "channel",
    "configuration": "configuration",
}
"""By the field that names a profile, the space that its name lives in; the first wins over the last."""
_OF_THE_PROFILE = frozenset({"name", "space", "disabled"})
"""What a profile says of itself, not of the interfaces that use it."""


class WifiRow:
    """All that is said of one Wi-Fi name on one interface."""

    def __init__(self, fact: Fact) -> None:
        self.values: dict[str, Any] = dict(fact.values)
        self._facts = [fact]
        self._profiles: list[Fact] = []

    def get(self, name: str, default: Any = None) -> Any:
        """Return a value, or the default where nothing is said."""
        return self.values.get(name, default)

    def overrule(self, fact: Fact) -> None:
        """Add a later line, which wins."""
        self.values.update(fact.values)
        self._facts.insert(0, fact)

    def take_over(self, profile: Fact) -> None:
        """Fill what is unsaid from a profile."""
        self._profiles.append(profile)
        for name, value in profile.values.items():
            if name not in _OF_THE_PROFILE:
                self.values.setdefault(name, value)

    def at(self, *names: str) -> Refs:
        """Return the lines of some values: those of the first who says them."""
        found: Refs = ()
        for name in names:
            asked = self._facts if name in _OF_THE_PROFILE else [*self._facts, *self._profiles]
            found += next((fact.refs(name) for fact in asked if name in fact.values), ())
        return found or (self._facts[0].head,)


class WifiRows:
    """The rows of all Wi-Fi names, and the radios that air them by name."""

    def __init__(self, facts: Facts, defaults: Defaults) -> None:
        self._defaults = defaults
        self._profiles = {(fact.get("space"), fact.get("name")): fact for fact in facts.get("wifi_profile", [])}
        self.radios: dict[str, Fact | WifiRow] = {fact.get("name", ""): fact for fact in facts.get("radio", [])}
        for radio in self.radios.values():
            apply_defaults(defaults["radio"], "", radio.values)
        self.rows = _merged(_declared(facts))
        for row in self.rows:
            self._inherit(row)
            if row.get("interface") and not row.get("master"):
                self.radios.setdefault(row.get("interface"), row)

    def tagging(self) -> frozenset[str]:
        """Return the interfaces that put a VLAN's tag on what they take from the air."""
        return frozenset(row.get("interface") for row in self.rows if row.get("vlan") and row.get("vlan_used", True))

    def _inherit(self, row: WifiRow) -> None:
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


def _declared(facts: Facts) -> list[Fact]:
    """Return the rows, and one for each name that a radio airs without a row of its own."""
    declared = [fact for fact in facts.get("wifi", []) if not fact.get("inactive")]
    known = {fact.get(name) for fact in declared for name in ("ssid", "name")}
    for radio in facts.get("radio", []):
        for ssid in radio.get("ssids", []):
            if ssid not in known:
                known.add(ssid)
                declared.append(Fact({"ssid": ssid}, radio.head))
    return declared


def _merged(facts: list[Fact]) -> list[WifiRow]:
    """Return one row for all lines about one interface, and one for each line that names none."""
    rows: list[WifiRow] = []
    by_interface: dict[str, WifiRow] = {}
    for fact in facts:
        name = fact.get("interface")
        if name in by_interface:
            by_interface[name].overrule(fact)
            continue
        rows.append(WifiRow(fact))
        if name:
            by_interface[name] = rows[-1]
    return rows
