"""Judging one device: every planned setting ends as conforming, nonconforming or unverified."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from auditor.areas import ROOMS, Area, Expected, Mismatch, Pair, Reading, numbered
from auditor.areas import room as room_of
from auditor.compare.diff import Difference, Items, changes
from auditor.core.report import BearingLine, Doubt, Kind
from auditor.core.state import Setting, as_plain, fields_of, items_of, plain
from auditor.platforms import catalogue
from auditor.platforms.gaps import gap_of


@dataclass(slots=True)
class Judgement:
    """What became of a device's planned settings.

    Attributes:
        areas: how many settings of each area were judged; an item that is wholly absent counts as one.
        mismatches: what is not as planned.
        unverified: planned settings that cannot be told, and why.
        not_shown: areas that this capture cannot show though something is planned there, with what to do about it.
        pair: both sides as they were compared; ``None`` for a device that could not be read.
        planned: all settings that are planned.
    """

    areas: Counter[str] = field(default_factory=Counter)
    mismatches: list[Mismatch] = field(default_factory=list)
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    not_shown: dict[str, str] = field(default_factory=dict)
    pair: Pair | None = None
    planned: frozenset[Setting] = frozenset()

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


def paired(expected: Expected, reading: Reading) -> Pair:
    """Return both sides of a device ready to be compared field by field."""
    reading = numbered(reading, expected)
    pair = Pair(reading, catalogue.get(expected.platform), expected, reading.state, leads=reading.leads)
    for room in ROOMS:
        room.align(pair)
    for room in reversed(ROOMS):
        room.complete(pair)
    return pair


class _Judge:
    def __init__(self, expected: Expected, reading: Reading, passphrase: Callable[[str], bool | Doubt]) -> None:
        self.passphrase = passphrase
        self.pair = paired(expected, reading)
        self.reading = self.pair.reading
        self.expected = self.pair.expected
        self.planned = frozenset(self.expected.settings)
        self.open: dict[Setting, Doubt] = {}
        self.result = Judgement(unverified=dict(self.pair.unverified), pair=self.pair, planned=self.planned)

    def run(self) -> Judgement:
        for setting in self.expected.settings:
            gap = self.gap(setting)
            if gap is not None:
                self.result.unverified[setting] = Doubt("cannot", gap)
                continue
            # of an item that is always there its absence tells nothing, so the area counts as well
            hint = self.reading.not_shown.get(setting) if setting.key else self.why_not_shown(setting)
            if hint is not None:
                self.cannot_tell(setting, hint)
        self.open = {setting: _left_open(lines) for setting, lines in self.reading.left_open(self.planned).items()}
        self.result.unverified = self.open | self.result.unverified
        for room in ROOMS:
            self.result.not_shown |= room.not_shown(self.expected, self.reading.not_shown)
            self.area(room)
            self.apart(room)
        self.contradicted()
        self.result.count(self.expected.settings)
        if self.result.mismatches:
            self.count()
        return self.result

    def contradicted(self) -> None:
        """Leave open what some lines say as planned, and others otherwise; one setting told of an item is enough."""
        told = {place for m in self.result.mismatches for place in (m.setting, m.setting.item)}
        left = self.reading.left_open(self.planned, contradicting=True)
        done = {(s.item, line.file, line.line) for s, lines in left.items() if s in told for line in lines}
        for setting, lines in left.items():
            rest = [line for line in lines if (setting.item, line.file, line.line) not in done]
            if rest and setting not in told and (setting.item not in told or setting.field):
                self.result.unverified.setdefault(setting, _left_open(rest))

    def count(self) -> None:
        """Count an item that is wholly absent as one setting, and nothing as mismatched and unverified at once."""
        mismatched = {m.setting for m in self.result.mismatches if m.kind != "unplanned"}
        whole = {m.setting for m in self.result.mismatches if m.kind == "absent" and not m.setting.field}
        planned = {s for s in self.expected.settings if s.item not in whole or s in mismatched}
        self.result.unverified = {
            s: doubt for s, doubt in self.result.unverified.items() if s not in mismatched and s.item not in whole
        }
        self.result.count(planned | whole)

    def why_not_shown(self, setting: Setting) -> str | None:
        """Return what to do to see a setting; ``None`` where the capture shows it."""
        for place in (Setting(setting.area, "", setting.field), Setting(setting.area)):
            if place in self.reading.not_shown:
                return self.reading.not_shown[place]
        return None

    def cannot_tell(self, setting: Setting, hint: str) -> None:
        single = not setting.key or setting in self.reading.not_shown
        self.result.not_shown[str(setting) if single else setting.area] = hint
        self.result.unverified[setting] = Doubt("not-saved", f"not in this capture; {hint}")

    def area(self, room: Area) -> None:
        """Judge the items of an area: only what is unequal is looked at closely."""
        expected, observed = items_of(self.expected.state, room.name), items_of(self.pair.observed, room.name)
        wanted: Items = {}
        found: Items = {}
        for key, item in expected.items():
            if key in observed:
                fields = self.unequal(room, key, item, observed[key])
                if fields:
                    wanted[key] = {name: plain(getattr(item, name)) for name in fields}
                    found[key] = {name: plain(getattr(observed[key], name)) for name in fields}
                continue
            hint = self.why_not_shown(Setting(room.name, key))
            is_open = bool(self.open) and all(setting in self.open for setting in self.settings_of(room.name, key))
            if gap_of(self.pair.platform.cannot, Setting(room.name), self.expected.role) or (hint is None and is_open):
                continue
            if hint is None:
                wanted[key] = as_plain(item)
            else:
                for setting in self.settings_of(room.name, key):
                    self.cannot_tell(setting, hint)
        beyond = {key: item for key, item in observed.items() if key not in expected}
        unplanned = room.unplanned(beyond, self.pair) if beyond else {}
        found |= {key: as_plain(item) for key, item in unplanned.items()}
        for change in changes(wanted, found):
            self.take(room, change)

    def unequal(self, room: Area, key: str, expected: BaseModel, observed: BaseModel) -> list[str]:
        """Return the fields of an item that are judged and differ."""
        return [
            name
            for name in fields_of(room.name)
            if getattr(expected, name) != getattr(observed, name)
            and name not in room.judged_apart
            and Setting(room.name, key, name) not in self.expected.unsaid
            and Setting(room.name, key, name) not in self.result.unverified
        ]

    def settings_of(self, area: str, key: str) -> Iterator[Setting]:
        return (s for s in self.expected.settings if (s.area, s.key) == (area, key))

    def take(self, room: Area, change: Difference) -> None:
        setting = Setting(room.name, change.key, change.field)
        self.result.mismatches.append(Mismatch(setting, _kind(change), change.expected, change.observed))

    def gap(self, setting: Setting) -> str | None:
        """Return why our templates cannot tell a planned setting; ``None`` where they can.

        They can all the same where more is seen than they make of a device on which it is as planned.
        """
        gap = gap_of(self.pair.platform.cannot, setting, self.expected.role)
        if gap is None:
            return None
        item = items_of(self.pair.observed, setting.area).get(setting.key)
        if item is None or not setting.field:
            area = gap_of(self.pair.platform.cannot, Setting(setting.area), self.expected.role)
            return area.why if area and item is None else None
        planned = getattr(items_of(self.expected.state, setting.area)[setting.key], setting.field)
        observed = getattr(item, setting.field)
        rest = gap.rest(setting, planned)
        unseen = observed == rest or not isinstance(planned, tuple | dict)
        silent = not observed or observed == rest if gap.whole else unseen and planned not in (rest, observed)
        return gap.why if silent and not room_of(setting.area).speaks(self.pair, setting) else None

    def apart(self, room: Area) -> None:
        """Take what an area judges in a way of its own."""
        for ruling in room.rulings(self.pair, self.passphrase):
            if isinstance(ruling, Mismatch):
                if ruling.setting in self.open:
                    continue
                self.result.mismatches.append(ruling)
            elif ruling[0] not in self.result.unverified:
                self.result.unverified[ruling[0]] = ruling[1]


def _left_open(lines: list[BearingLine]) -> Doubt:
    """Return why a setting is unverified that lines leave open; a line that nobody understood comes first."""
    unknown = [line for line in lines if not line.why]
    first, overriding = (unknown or lines)[0], tuple(line.text.strip() for line in lines if line.why)
    quoted = f"{first.file} line {first.line} ({first.text.strip()})"
    if unknown:
        return Doubt("not-understood", f"{quoted} was not understood: check by hand what it does here", overriding)
    return Doubt("overriding", f"{quoted}: {first.why}", overriding)


def _kind(change: Difference) -> Kind:
    """Absent: planned and not there. Unplanned: there and not planned. Differs: both, and unequal."""
    if not _there(change.observed):
        return "absent" if _there(change.expected) else "differs"
    return "differs" if _there(change.expected) else "unplanned"


def _there(value: Any) -> bool:
    return value is not None and value not in ("", [], {})
