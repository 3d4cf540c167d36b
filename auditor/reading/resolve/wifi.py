"""Wi-Fi names: what each radio airs, profiles looked up, and one entry a name made of all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from auditor.model.state import Ssid
from auditor.model.values import vlan_id
from auditor.platforms.definition import any_of
from auditor.reading.dialect import Dialect
from auditor.reading.resolve.facts import Defaults, Evidence, Fact, Facts, Refs, apply_defaults
from auditor.reading.resolve.interfaces import Interfaces
from auditor.reading.resolve.layer2 import Layer2

_ACCESS_POINT = "ap"
_PROFILES = {
    "security_profile": "security",
    "datapath": "datapath",
    "channel": "channel",
    "configuration": "configuration",
}
"""By the field that names a profile, the space that its name lives in; the first wins over the last."""
_SOURCES = {
    "vlan": ("vlan", "network"),
    "security": ("security", "security_mode"),
    "hidden": ("hidden", "broadcast"),
    "client_isolation": ("isolation", "forwarding"),
}
"""By setting, the values of a row that it comes from."""
_MASKED = any_of([r"<.*>", r"\*+", r"\$\{.*\}"])


@dataclass(frozen=True, slots=True)
class Passphrase:
    """A passphrase as the capture holds it; never shown, never stored.

    ``form`` is how it is stored: plain, type7, irreversible or hidden.
    """

    text: str
    form: str

    def __repr__(self) -> str:
        return f"Passphrase({self.form})"


class _Row:
    """A row with what it takes over from profiles."""

    def __init__(self, fact: Fact) -> None:
        self.values: dict[str, Any] = dict(fact.values)
        self._facts = [fact]

    def get(self, name: str, default: Any = None) -> Any:
        return self.values.get(name, default)

    def take_over(self, profile: Fact) -> None:
        """Fill what is unsaid from a profile."""
        self._facts.append(profile)
        for name, value in profile.values.items():
            if name not in ("name", "space"):
                self.values.setdefault(name, value)

    def at(self, *names: str) -> Refs:
        """Return the lines of some values: those of the first who says them."""
        found: Refs = ()
        for name in names:
            found += next((fact.refs(name) for fact in self._facts if name in fact.values), ())
        return found or (self._facts[0].head,)


@dataclass(slots=True)
class _Airing:
    """One Wi-Fi name on one radio, or on none."""

    row: _Row
    values: dict[str, Any]
    on: bool
    switch: Fact | _Row


class Wifi:
    """Builds the ``ssids`` area; ``passphrases`` are what the capture holds, by Wi-Fi name."""

    def __init__(
        self, dialect: Dialect, facts: Facts, interfaces: Interfaces, layer2: Layer2, defaults: Defaults
    ) -> None:
        self._words = dialect.words
        self._forms = dialect.platform.passphrases
        self._defaults = defaults
        self._interfaces = interfaces
        self._layer2 = layer2
        self._profiles = {(fact.get("space"), fact.get("name")): fact for fact in facts.get("wifi_profile", [])}
        self._radios: dict[str, Fact | _Row] = {fact.get("name", ""): fact for fact in facts.get("radio", [])}
        for radio in self._radios.values():
            apply_defaults(defaults["radio"], "", radio.values)
        self._rows = [self._inherit(fact) for fact in self._declared(facts) if not fact.get("inactive")]
        self._listing = any("ssids" in radio.values for radio in self._radios.values())
        for row in self._rows:
            if row.get("interface") and not row.get("master"):
                self._radios.setdefault(row.get("interface"), row)
        self.passphrases: dict[str, list[Passphrase]] = {}

    def _declared(self, facts: Facts) -> list[Fact]:
        """Return the rows, and one for each name that a radio airs without a row of its own."""
        declared = list(facts.get("wifi", []))
        known = {fact.get(name) for fact in declared for name in ("ssid", "name")}
        for radio in facts.get("radio", []):
            for ssid in radio.get("ssids", []):
                if ssid not in known:
                    known.add(ssid)
                    declared.append(Fact({"ssid": ssid}, radio.head))
        return declared

    def _inherit(self, fact: Fact) -> _Row:
        """Fill what a row leaves unsaid: from its profiles and theirs, then by what an absent line means."""
        row = _Row(fact)
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
        return row

    def build(self, evidence: Evidence) -> dict[str, Ssid]:
        """Return one entry a Wi-Fi name. A value that its radios disagree on is a tuple of all of them."""
        airings: dict[str, list[_Airing]] = {}
        for row in self._rows:
            ssid = row.get("ssid")
            if ssid and str(row.get("mode", _ACCESS_POINT)).lower() == _ACCESS_POINT:
                airings.setdefault(ssid, []).extend(self._air(row))
                self.passphrases.setdefault(ssid, []).append(self._passphrase(row))
        return {ssid: self._entry(ssid, found, evidence) for ssid, found in airings.items()}

    def _air(self, row: _Row) -> Iterator[_Airing]:
        """Yield the row once for each radio that airs it; once where none does."""
        names = {row.get("name"), row.get("ssid")}
        listing = [radio for radio in self._radios.values() if names.intersection(radio.get("ssids", []))]
        named = [self._radios[name] for name in (*row.get("radios", []), row.get("master")) if name in self._radios]
        vlan = self._vlan(row)
        values: dict[str, Any] = {
            "vlan": vlan,
            "security": self._words.security(row.get("security", []), row.get("security_mode", "")),
            "hidden": bool(row.get("hidden", False)) or not row.get("broadcast", True),
            "client_isolation": bool(row.get("isolation", False)) or not row.get("forwarding", True),
            "band": self._words.band(row.get("band", "")),
        }
        off = bool(row.get("disabled", False))
        if not listing and not named:
            yield _Airing(row, values, not off and not self._listing, row)
        for radio in listing or named:
            dead = bool(radio.get("disabled", False))
            band = row.get("band") or radio.get("band") or radio.get("name", "")
            isolated = values["client_isolation"] or self._isolated(radio.get("name"), vlan)
            told = {**values, "band": self._words.band(band), "client_isolation": isolated}
            yield _Airing(row, told, not (off or dead), radio if dead else row)

    def _isolated(self, radio: str | None, vlan: int | None) -> bool:
        """Return whether stations are kept apart on the radio's subinterface of a VLAN."""
        children = self._interfaces.children.get(radio or "", [])
        return any(child.get("isolation") and child.get("vlan_tag") == str(vlan) for child in children)

    def _vlan(self, row: _Row) -> int | None:
        if row.get("vlan") and row.get("vlan_used", True):
            return vlan_id(row.get("vlan"))
        for name in row.get("network", []):
            network = self._interfaces.find(name)
            if network is not None:
                return self._layer2.vlan_of(network)
        name = row.get("interface")
        if name and (name in self._layer2.members or self._interfaces.bridge_of.get(name)):
            return self._layer2.bridged(self._interfaces.device(name))[0]
        return None

    def _entry(self, ssid: str, airings: list[_Airing], evidence: Evidence) -> Ssid:
        counted = [airing for airing in airings if airing.on] or airings
        bands = {airing.values["band"] for airing in counted}
        values: dict[str, Any] = {name: _agreed(airing.values[name] for airing in counted) for name in _SOURCES}
        values["bands"] = tuple(sorted(bands)) if all(bands) else None
        values["enabled"] = _agreed(airing.on for airing in airings)
        for airing in airings:
            evidence.note("ssids", ssid, airing.row, {"": ()})
            evidence.note("ssids", ssid, airing.switch, {"enabled": ("disabled",)})
        for airing in counted:
            evidence.note("ssids", ssid, airing.row, _SOURCES)
        return Ssid.model_validate(values)

    def _passphrase(self, row: _Row) -> Passphrase:
        text = row.get("passphrase", "")
        hidden = not text or _MASKED.fullmatch(text)
        return Passphrase(text, "hidden" if hidden else self._forms.get(row.get("passphrase_form", ""), "plain"))


def _agreed(values: Iterable[Any]) -> Any:
    """Return the one value, or a sorted tuple of those that differ."""
    distinct = set(values)
    if len(distinct) == 1:
        return distinct.pop()
    return tuple(sorted(distinct, key=lambda value: (value is not None, value)))
