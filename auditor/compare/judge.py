"""Judging one device: every planned setting ends as conforming, nonconforming or unverified."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from auditor.compare.diff import Difference, Items, changes
from auditor.compare.normalize import Pair, normalize
from auditor.compare.round_trip import read_back
from auditor.core.report import Doubt, Kind
from auditor.core.state import KEYED_AREAS, DeviceState, Setting, as_plain, fields_of, plain
from auditor.plan.expected import Expected, is_there
from auditor.platforms import catalogue
from auditor.reading import Reading

_FILTERS_UNREAD = Doubt(
    "cannot",
    "isolation is not checked: the packet filters of this platform are not read; test from a client of the subnet that "
    "it cannot open connections there",
)


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A setting, or a whole item, that is not as planned."""

    setting: Setting
    kind: Kind
    expected: Any
    observed: Any


@dataclass(slots=True)
class Judgement:
    """What became of a device's planned settings.

    Attributes:
        areas: how many settings of each area were judged; an item that is wholly absent counts as one.
        mismatches: what is not as planned.
        unverified: planned settings that cannot be told, and why.
        not_shown: areas that this capture cannot show though something is planned there, with what to save beside it.
        pair: both sides as they were compared; ``None`` for a device that could not be read.
    """

    areas: Counter[str] = field(default_factory=Counter)
    mismatches: list[Mismatch] = field(default_factory=list)
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    not_shown: dict[str, str] = field(default_factory=dict)
    pair: Pair | None = None

    def count(self, planned: Iterable[Setting]) -> None:
        """Count the settings that were judged."""
        self.areas = Counter(setting.area for setting in planned)


def judge(expected: Expected, reading: Reading, passphrase: Callable[[str], bool | Doubt]) -> Judgement:
    """Compare what a device should be with what its capture shows.

    Args:
        expected: the planned settings.
        reading: the observed ones.
        passphrase: tells for a Wi-Fi name whether its passphrase is the planned one, or why that cannot be told.
    """
    return _Judge(expected, reading, passphrase).run()


def everything_unverified(expected: Expected, why: str) -> Judgement:
    """Return the judgement of a device that could not be read."""
    judgement = Judgement(unverified=dict.fromkeys(expected.settings, Doubt("device", why)))
    judgement.count(expected.settings)
    return judgement


class _Judge:
    def __init__(self, expected: Expected, reading: Reading, passphrase: Callable[[str], bool | Doubt]) -> None:
        self.reading = reading
        self.passphrase = passphrase
        self.platform = catalogue.get(expected.platform)
        self.pair = normalize(expected, reading, self.platform)
        self.expected = self.pair.expected
        self.result = Judgement(unverified=dict(self.pair.unverified), pair=self.pair)

    def run(self) -> Judgement:
        for setting in self.expected.settings:
            if setting in self.reading.not_shown:
                self.cannot_tell(setting, self.reading.not_shown[setting])
        every_port = Setting("ports", "", "unlisted")
        if self.expected.unlisted and every_port in self.reading.not_shown:
            self.result.not_shown["every port"] = self.reading.not_shown[every_port]
        self.hostname()
        for area in KEYED_AREAS:
            self.area(area)
        self.management()
        self.passphrases()
        self.isolation()
        self.result.count(self.expected.settings)
        if self.result.mismatches:
            self.count()
        return self.result

    def count(self) -> None:
        """Count an item that is wholly absent as one setting, and nothing as mismatched and unverified at once."""
        mismatched = {m.setting for m in self.result.mismatches if m.kind != "unplanned"}
        whole = {m.setting for m in self.result.mismatches if m.kind == "absent" and not m.setting.field}
        planned = {s for s in self.expected.settings if s.item not in whole or s in mismatched}
        self.result.unverified = {s: doubt for s, doubt in self.result.unverified.items() if s not in mismatched}
        self.result.count(planned | whole)

    def why_not_shown(self, setting: Setting) -> str | None:
        """Return what to save beside the capture to see a setting; ``None`` where the capture shows it."""
        for place in (Setting(setting.area, "", setting.field), Setting(setting.area)):
            if place in self.reading.not_shown:
                return self.reading.not_shown[place]
        return None

    def cannot_tell(self, setting: Setting, save: str) -> None:
        single = setting.area == "management" or setting in self.reading.not_shown
        self.result.not_shown[str(setting) if single else setting.area] = save
        self.result.unverified[setting] = Doubt("not-saved", f"this capture does not show it; save beside it: {save}")

    def hostname(self) -> None:
        setting = Setting("hostname")
        wanted, found = self.expected.state.hostname, self.pair.observed.hostname
        if wanted is None:
            return
        if found is None:
            unseen = Doubt("never-shown", "the capture does not say the device's name")
            self.result.unverified.setdefault(setting, unseen)
        elif found.casefold() != wanted.casefold():
            self.result.mismatches.append(Mismatch(setting, "differs", wanted, found))

    def area(self, area: str) -> None:
        """Judge an area: only what is unequal is looked at closely."""
        expected = {str(key): item for key, item in getattr(self.expected.state, area).items()}
        observed = {str(key): item for key, item in getattr(self.pair.observed, area).items()}
        wanted: Items = {}
        found: Items = {}
        for key, item in expected.items():
            if key in observed:
                fields = self.unequal(area, key, item, observed[key])
                if fields:
                    wanted[key] = {name: plain(getattr(item, name)) for name in fields}
                    found[key] = {name: plain(getattr(observed[key], name)) for name in fields}
                continue
            save = self.why_not_shown(Setting(area, key))
            if save is None:
                wanted[key] = as_plain(item)
            else:
                for setting in self.settings_of(area, key):
                    self.cannot_tell(setting, save)
        unplanned = {
            key: item for key, item in observed.items() if key not in expected and self.is_unplanned(area, key, item)
        }
        planned_vlans = {str(vid) for vid in self.expected.state.vlans}
        if (
            area == "gateways"
            and self.expected.address is None
            and len(unplanned) == 1
            and unplanned.keys() <= planned_vlans
        ):
            unplanned = {}  # its one address, by which it is managed, and which the plan leaves unsaid
        found |= {key: as_plain(item) for key, item in unplanned.items()}
        for change in changes(wanted, found):
            self.take(area, change)

    def unequal(self, area: str, key: str, expected: BaseModel, observed: BaseModel) -> list[str]:
        """Return the fields of an item that are judged and differ."""
        return [
            name
            for name in fields_of(area)
            if getattr(expected, name) != getattr(observed, name)
            and name != "passphrase_matches"
            and Setting(area, key, name) not in self.expected.unsaid
            and Setting(area, key, name) not in self.result.unverified
        ]

    def settings_of(self, area: str, key: str) -> Iterator[Setting]:
        return (s for s in self.expected.settings if (s.area, s.key) == (area, key))

    def take(self, area: str, change: Difference) -> None:
        setting = Setting(area, change.key, change.field)
        if change.field and self.not_carried(setting, change.observed):
            self.result.unverified[setting] = Doubt("cannot", "this platform cannot express the planned value")
            return
        self.result.mismatches.append(Mismatch(setting, _kind(change), change.expected, change.observed))

    def not_carried(self, setting: Setting, observed: Any) -> bool:
        """Return whether the dialect has no way to say what is planned, and the device just says nothing.

        So it is where the planned value is lost when it is written and read again, and the observed one is that of
        a setting that nobody has made. A port that is planned off but carries something is in use all the same.
        """
        planned = _field(self.expected.state, setting)
        untouched = KEYED_AREAS[setting.area].model_fields[setting.field].get_default(call_default_factory=True)
        if not is_there(planned) or plain(untouched) != observed:
            return False
        if setting.field == "enabled" and self.pair.observed.ports[setting.key].mode != "routed":
            return False
        return bool(_field(read_back(self.expected), setting) == untouched)

    def is_unplanned(self, area: str, key: str, item: Any) -> bool:
        """Return whether something that the plan does not have may not be there."""
        match area:
            case "vlans":
                return int(key) not in self.platform.vlans.built_in and int(key) not in self.pair.carrier_vlans
            case "gateways":
                return int(key) not in self.pair.carrier_vlans
            case "ssids":
                return bool(item.enabled)
            case "dhcp":
                return True
        return False

    def management(self) -> None:
        wanted, found = self.expected.state.management, self.pair.observed.management
        for name in fields_of("management"):
            setting = Setting("management", "", name)
            if setting in self.expected.unsaid:
                continue
            save = self.why_not_shown(setting)
            if save is not None:
                self.cannot_tell(setting, save)
                continue
            planned, observed = plain(getattr(wanted, name)), plain(getattr(found, name))
            if planned != observed:
                kind = _kind(Difference("", name, planned, observed))
                self.result.mismatches.append(Mismatch(setting, kind, planned, observed))

    def passphrases(self) -> None:
        for ssid in self.expected.passphrases:
            setting = Setting("ssids", ssid, "passphrase_matches")
            if ssid not in self.pair.observed.ssids or setting in self.result.unverified:
                continue
            verdict = self.passphrase(ssid)
            if isinstance(verdict, Doubt):
                self.result.unverified[setting] = verdict
            elif not verdict:
                self.result.mismatches.append(Mismatch(setting, "differs", True, False))

    def isolation(self) -> None:
        """No platform's filters are read, so that nobody can tell who may open connections to whom."""
        self.result.unverified |= dict.fromkeys(self.expected.isolation, _FILTERS_UNREAD)


def _field(state: DeviceState, setting: Setting) -> Any:
    """Return the value of a setting; ``None`` where its item is not there."""
    items = {str(key): item for key, item in getattr(state, setting.area).items()}
    return getattr(items.get(setting.key), setting.field, None)


def _kind(change: Difference) -> Kind:
    """Absent: planned and not there. Unplanned: there and not planned. Differs: both, and unequal."""
    if not _there(change.observed):
        return "absent" if _there(change.expected) else "differs"
    return "differs" if _there(change.expected) else "unplanned"


def _there(value: Any) -> bool:
    return value is not None and value not in ("", [], {})
