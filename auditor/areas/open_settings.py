"""Settings that a line of a capture leaves open: one that overrides what was read, or that nobody understood."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from auditor.core.state import KEYED_AREAS, DeviceState, Setting, fields_of, items_of
from auditor.core.values import VlanSet
from auditor.platforms.names import names_of
from auditor.reading.reader import SectionPlace
from auditor.reading.source import Bearing, Disposition, Lines, Ref


class OpenLine(NamedTuple):
    """A line, what became of it, why it is in a closed list, and what it bears on: settings, items or whole areas.

    ``contradicts``: it is about what other lines say otherwise. ``also``: what it bears on, by the other names that a
    plan may use: those of birth of renamed ports, numbers of bridges.
    """

    ref: Ref
    kind: Disposition
    why: str
    on: tuple[Setting, ...]
    contradicts: bool = False
    also: tuple[Setting, ...] = ()

    def bears_on(self, settings: Iterable[Setting]) -> list[Setting]:
        """Return those settings that the line bears on.

        Of an item that should have nothing where the line may give it something, these are all settings; but not of a
        port, whose mode says whether its VLANs are planned.
        """
        settings = list(settings)
        places = {*self.on, *self.also}
        areas = {place for place in places if not place.key}
        found = [
            setting
            for setting in settings
            if not places.isdisjoint((setting, setting.item))
            or not areas.isdisjoint((setting._replace(key=""), Setting(setting.area)))
        ]
        told = {setting.item for setting in found}
        given = {place.item for place in places if place.key and place.field and place.area != "ports"} - told
        every = {place.area for place in areas if place.field and place.area in KEYED_AREAS and place.area != "ports"}
        bare = given | {item for item in {s.item for s in settings} - told if item.area in every}
        return found + [setting for setting in settings if setting.item in bare] if bare else found


class OpenLines:
    """The lines of a capture that leave settings open, or that limit a service.

    Attributes:
        more: those that are read and override a setting all the same.

    Args:
        platform: the dialect.
        lines: the capture's files.
        places: where its sections stand.
        state: what was observed.
        evidence: the lines of an item; ``inside`` the first ones of its parts, as are the ports of a bundle.
        also_called: the same place by the other names that a plan may use.
        more: lines that are read and override a setting all the same, why, and which one.
    """

    def __init__(
        self,
        platform: str,
        lines: Sequence[Lines],
        places: Sequence[SectionPlace],
        state: DeviceState,
        evidence: Callable[[Setting], Iterable[Ref]],
        *,
        inside: Callable[[Setting], Iterable[Ref]],
        also_called: Callable[[Setting], Iterable[Setting]],
        more: Iterable[tuple[Ref, str, Setting]] = (),
    ) -> None:
        self._platform = platform
        self._lines = lines
        self._places = places
        self._state = state
        self._evidence = evidence
        self._inside = inside
        self._also_called = also_called
        self.more = [OpenLine(ref, Disposition.OVERRIDING, why, (on,)) for ref, why, on in more]
        self._items: dict[Ref, list[Setting]] | None = None

    def of(self, *kinds: Disposition) -> Iterator[OpenLine]:
        """Yield the lines of some kinds, in their order: limits, overriding ones, those that nobody understood."""
        for line in self._of(*kinds):
            yield line._replace(also=tuple(other for place in line.on for other in self._also_called(place)))

    def _of(self, *kinds: Disposition) -> Iterator[OpenLine]:
        for source, lines in enumerate(self._lines):
            for kind in kinds:
                for number in lines.numbered(kind):
                    bearing = lines.bearings.get(number)
                    if kind is Disposition.NOT_UNDERSTOOD:
                        yield OpenLine(Ref(source, number), kind, "", tuple(self._around(source, number)))
                    elif bearing:
                        taken = Ref(source, bearing.taken_back) if bearing.taken_back else None
                        on = tuple(self._read_of(taken) if taken else self._on(bearing))
                        yield OpenLine(Ref(source, number), kind, bearing.why, on, bearing.contradicts)
        yield from (line for line in self.more if line.kind in kinds)

    def _on(self, bearing: Bearing) -> Iterator[Setting]:
        """Yield what a line in a closed list bears on; a limit says nothing of it and bears on its section's items."""
        places = bearing.on or tuple(Setting(area) for area in KEYED_AREAS)
        if bearing.section is None and not bearing.key:
            yield from bearing.on
            return
        items = self._within(self._places[bearing.section]) if bearing.section is not None else []
        for place in places:
            if bearing.key:
                yield from (place._replace(key=key) for key in self._named(place.area, bearing.key))
            elif place.area in KEYED_AREAS:
                whole = self._of_parts(bearing.section, place.area) if not place.field else []
                found = dict.fromkeys([*items, *whole])
                yield from (item._replace(field=place.field) for item in found if item.area == place.area)
            else:
                yield place

    def _named(self, area: str, text: str) -> list[str]:
        try:
            if area in ("ports", "uplinks"):
                return names_of(self._platform).names(text)
            if area in ("vlans", "gateways"):
                return [str(vid) for vid in VlanSet.parse(text.replace(" ", ""))]
        except ValueError:
            return [text]
        return [text]

    def _around(self, source: int, number: int) -> Iterator[Setting]:
        """Yield the items that are read from the sections in which a line stands."""
        for place in self._places:
            if place.source == source and (number == place.number or number in place.numbers):
                yield from self._within(place)

    def _read_of(self, ref: Ref) -> Iterator[Setting]:
        """Yield the settings that are read of a line."""
        for area in (*KEYED_AREAS, "management"):
            for key in items_of(self._state, area):
                if ref in self._evidence(Setting(area, key)):
                    places = [Setting(area, key, field) for field in fields_of(area)]
                    exact = [place for place in places if ref in self._evidence(place)]
                    yield from exact or places
        if ref in self._evidence(Setting("hostname")):
            yield Setting("hostname")

    def _of_parts(self, section: int | None, area: str) -> list[Setting]:
        """Return the items of which a section says a part: what bears on all of that, bears on the whole."""
        if section is None:
            return []
        place = self._places[section]
        items = (Setting(area, key) for key in items_of(self._state, area))
        return [item for item in items if Ref(place.source, place.number) in self._inside(item)]

    def _within(self, place: SectionPlace) -> list[Setting]:
        """Return the items that are read from a section."""
        if self._items is None:
            self._items = {}
            for area in KEYED_AREAS:
                for key in items_of(self._state, area):
                    item = Setting(area, key)
                    for ref in self._evidence(item):
                        self._items.setdefault(ref, []).append(item)
        refs = (Ref(place.source, number) for number in dict.fromkeys((place.number, *place.numbers)))
        return list(dict.fromkeys(item for ref in refs for item in self._items.get(ref, ())))
