"""A capture cut into sections, and each read by the template that owns it: typed rows, and an account of all lines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cached_property
from itertools import chain
from typing import Any, NamedTuple, cast

from auditor.platforms.definition import any_of
from auditor.reading.days import ReadOn, read_on
from auditor.reading.dialect import Dialect
from auditor.reading.known import Missing, Told
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.rows import Parsed
from auditor.reading.sections import Section
from auditor.reading.source import Bearing, CaptureFile, Disposition, Lines, Ref, lines_of, overlong_words
from auditor.reading.taken_back import WHY, Fields, taken_back
from auditor.reading.wording import Wording
from auditor.redact import redact

_NAMED = re.compile(r"(?m)^@?name=(.+)$")
_IS_OFF = Told(Disposition.HARMLESS, "it is off")


class SectionPlace(NamedTuple):
    """Where a section stands: which of the files, its first line's number and text, the numbers of its lines."""

    source: int
    number: int
    header: str
    numbers: Sequence[int]


def _bearing(told: Told, place: int | None) -> Bearing:
    return Bearing(told.why, told.on, None if told.everywhere else place, told.key)


class Readout:
    """The rows of one device's capture, and what became of its lines.

    Attributes:
        dialect: the platform that it is read as.
        lines: its files.
        rows: what its sections say.
        places: where each section stands.
        wording: what was read of each line.
        elsewhere: names of what is not read, which may be interfaces of kinds that nobody audits.

    Raises:
        PlatformError: the platform's data are broken.
    """

    def __init__(self, dialect: Dialect, sources: Sequence[CaptureFile]) -> None:
        self.dialect = dialect
        self.lines = [lines_of(source) for source in sources]
        self.rows = ReadRows()
        self.places: list[SectionPlace] = []
        self.wording = Wording()
        self.elsewhere: set[str] = set()
        self._owned = 0
        self._occurring: dict[str, bool] = {}
        once = any_of(dialect.platform.layout.once)
        self._missing: list[tuple[Ref, Missing, int | None, str]] = []
        cut = [(index, text, dialect.answers.cut(text)) for index, text in enumerate(self.lines)]
        for index, text, sections in cut:
            begun: set[str] = set()
            for section in sections:
                self._section(section, text, index)
                if match := once.match(section.header):
                    if match[0] in begun:
                        text.mark(section.number, Disposition.NOT_UNDERSTOOD)
                    begun.add(match[0])
        self._override()
        self._whole = "\n".join(chain.from_iterable(text.texts for text in self.lines))
        self.wording.keep(self.rows, self.lines)
        self._take_back()

    def _take_back(self) -> None:
        """Have lines override that take back what a line above them said."""
        heads: dict[int, list[int]] = {}
        for place in self.places:
            if place.number:
                heads.setdefault(place.source, []).append(place.number)
        blocks = [(place.source, place.header, place.numbers) for place in self.places if place.numbers]
        blocks += [(source, "", numbers) for source, numbers in heads.items()]
        platform = self.dialect.platform.name
        found = taken_back(self.lines, blocks, self._fields, lambda text: redact(platform, [text])[0])
        for ref, earlier in list(found):
            self.lines[ref.source].mark(ref.line, Disposition.OVERRIDING)
            self.lines[ref.source].bearings[ref.line] = Bearing(WHY, taken_back=earlier.line)

    def _fields(self) -> Fields:
        found: dict[Ref, set[str]] = {}
        for row in self.rows:
            for name in row.said:
                for ref in row.refs(cast("FieldName", name)):
                    found.setdefault(ref, set()).add(name)
        return found

    @property
    def headers(self) -> list[str]:
        """The first lines of all sections."""
        return [place.header for place in self.places]

    def defaults(self) -> RowDefaults:
        """Return what lines that are not there mean in this capture; what people write in banners does not count."""
        return self.dialect.defaults_in(self._without_banners)

    @cached_property
    def _without_banners(self) -> str:
        return "\n".join(chain.from_iterable(text.without_banners() for text in self.lines))

    def _in_force(self, told: Told, *, off: bool = False) -> Told | None:
        """Return what is known of a line in this capture, where that hangs on others; ``off``: its section is off."""
        if off and told.kind == Disposition.OVERRIDING:
            return None if told.read else _IS_OFF
        if told.when is None:
            return told
        if told.when not in self._occurring:
            self._occurring[told.when] = re.search(told.when, self._without_banners, re.MULTILINE) is not None
        return told if self._occurring[told.when] else told.otherwise

    def _in_section(self, outcome: Parsed, *, off: bool) -> tuple[bytes, dict[int, Told]]:
        """Return what became of each line of a section, and what is known of some, in this capture."""
        if not off and not any(told.when for told in outcome.told.values()):
            return outcome.kinds, outcome.told
        kinds, found = bytearray(outcome.kinds), {}
        for index, told in outcome.told.items():
            if (known := self._in_force(told, off=off)) is not None:
                found[index] = known
            if known is not told:
                kinds[index] = known.kind if known else Disposition.READ if told.read else Disposition.NOT_UNDERSTOOD
        return bytes(kinds), found

    def days(self) -> list[ReadOn | None]:
        """Return for each file the day on which the device says that it was read."""
        return [read_on(text, self.dialect.read_on) for text in self.lines]

    def _section(self, section: Section, lines: Lines, source: int) -> None:
        """Hand a section to the template that owns it and account for its lines."""
        place = len(self.places)
        self.places.append(SectionPlace(source, section.number, section.header, section.numbers))
        owner = section.owner
        is_off = self.dialect.off
        off = is_off is not None and any(is_off.fullmatch(line.strip()) for line in section.body.split("\n"))
        if self.dialect.names.tells_made and (owner is None or owner.template.feature == "system"):
            self.elsewhere.update(_NAMED.findall(section.body))
        if owner is None:
            told = self._in_force(section.told, off=off) if section.told else None
            if told is not section.told:
                kind = told.kind if told else Disposition.NOT_UNDERSTOOD
                for number in (section.number, *section.numbers):
                    if lines.kinds[number - 1] == section.disposition:
                        lines.mark(number, kind)
            if told:
                lines.bearings[section.number] = _bearing(told, None)
            ref = Ref(source, section.number)
            self._missing += [(ref, missing, None, "") for missing in self.dialect.conditions.of(section.header)]
            return
        self._owned += 1
        inner, body = section.unfolded()
        numbers = section.numbers
        for each in inner:
            self._section(each, lines, source)
        if owner.rule.whole:
            body, numbers = f"{section.header}\n{body}", (section.number, *numbers)
        outcome = owner.template.read(body)
        kinds, known = self._in_section(outcome, off=off)
        lines.account(numbers, kinds)
        if owner.conditions:
            for number, line in zip(numbers, body.split("\n"), strict=False):
                found = owner.conditions.of(line.strip(), section.header)
                self._missing += [(Ref(source, number), missing, place, section.body) for missing in found]
        weighing: dict[int, Disposition] = {}
        for index, told in known.items():
            number, bearing = numbers[index], _bearing(told, place)
            if told.kind >= weighing.get(number, told.kind):
                same = weighing.get(number) == told.kind
                lines.bearings[number] = lines.bearings[number].beside(bearing) if same else bearing
                weighing[number] = told.kind
        head, understood = owner.head(section.head, section.around, section.outer)
        if not understood or not self._nameable(owner.template.feature, head):
            head.pop("name", None)
            lines.mark(section.number, Disposition.NOT_UNDERSTOOD)
        ref = Ref(source, section.number)
        rows, model = self.rows.of(owner.template.feature), owner.template.model
        if head and not outcome.records:
            rows.append(model(self.wording.shown(head), ref, numbers=numbers))
        for record in outcome.records:
            rows.append(model(self.wording.shown({**head, **record.values}), ref, record.trace, numbers))

    def _override(self) -> None:
        """Mark the lines that override since another one is missing, in the capture or in their section."""
        said = set(map(str.strip, self._without_banners.split("\n"))) if self._missing else set()
        held: dict[tuple[object, ...], bool] = {}
        for ref, missing, place, body in self._missing:
            lines = self.lines[ref.source]
            asked = (missing.other, missing.where, *missing.groups.items())
            if missing.beside:
                holds = missing.holds({line.strip() for line in body.split("\n")})
            else:
                holds = held[asked] = held[asked] if asked in held else missing.holds(said)
            if holds and lines.kinds[ref.line - 1] < Disposition.OVERRIDING:
                lines.mark(ref.line, Disposition.OVERRIDING, _bearing(missing.told, place))

    def _nameable(self, feature: str, head: dict[str, Any]) -> bool:
        """Return whether the name in a first line can be that of an interface, or a range of them."""
        if feature != "interface" or "name" not in head or head.get("kind") == "network":
            return True
        try:
            self.dialect.names.names(head["name"])
        except ValueError:
            return False
        return True

    def problem(self) -> str:
        """Return why the capture is no whole configuration, secrets taken out; empty where it is one."""
        problem = self._problem(self.lines, self._whole)
        return redact(self.dialect.platform.name, [problem])[0] if problem else ""

    def _problem(self, lines: list[Lines], whole: str) -> str:
        for text in lines:
            if text.overlong:
                return overlong_words(text.name, text.overlong)
        if not whole.strip():
            return "the capture is empty"
        if not self._owned:
            for line in whole.split("\n"):
                if self.dialect.refusals.match(line):
                    return f"the device answered with an error instead of its configuration: {line.strip()!r}"
            return f"nothing in it is a configuration of {self.dialect.platform.name}"
        for text in lines:
            if text.problem:
                return f"{text.name}: {text.problem}"
            if not any(text.texts):
                return f"{text.name}: the file is empty; where the device has nothing to show, save what it answers"
            if narrowed := self.dialect.narrowed.problem(text):
                return f"{text.name}: {narrowed}"
            broken = [line.strip() for line in text.texts if self.dialect.interrupted.match(line)]
            if broken:
                return f"{text.name}: the device says that it stopped in the middle: {broken[-1]!r}"
        named = {ref for row in self.rows.system if row.hostname for ref in row.refs("hostname")}
        named = {ref for ref in named if ref.line not in self.lines[ref.source].inherited}
        files = sorted({self.lines[ref.source].name for ref in named})
        if len(files) > 1:
            return f"{' and '.join(files)} are both a configuration with a name: keep the one of today"
        if len(named) > 1:
            return f"{files[0]}: more than one configuration with a name stands in it: keep the one of today"
        if self.dialect.ends_with and not any(self._ends(text) for text in lines):
            return "the line that ends a configuration is missing: the capture is cut short"
        return ""

    def _ends(self, text: Lines) -> bool:
        """Return whether the line that ends a configuration is there, outside of banners; it is near the end."""
        ends_with = self.dialect.ends_with
        assert ends_with is not None
        for i in range(len(text.texts) - 1, -1, -1):
            if text.kinds[i] != Disposition.LITERAL:
                if ends_with.fullmatch(text.texts[i]):
                    return True
                if self.dialect.ends_below.match(text.texts[i]):
                    return False
        return False
