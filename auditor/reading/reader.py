"""Reading a capture: ``read(platform, sources)`` is the front door of this package."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from auditor.core.report import QuotedLine
from auditor.core.state import KEYED_AREAS, DeviceState, Setting, fields_of
from auditor.reading.days import ReadOn, read_on
from auditor.reading.dialect import Dialect, dialect
from auditor.reading.fields import freed
from auditor.reading.layouts import LAYOUTS
from auditor.reading.resolve.device import Resolved, resolve
from auditor.reading.resolve.system import DEFAULT_VRF
from auditor.reading.resolve.wifi import Passphrase
from auditor.reading.row_models import ReadRows
from auditor.reading.sections import Section
from auditor.reading.source import AUDITED_KINDS, CaptureFile, Disposition, Lines, Ref, lines_of, overlong_words
from auditor.reading.wording import Wording
from auditor.redact import KnownSecrets, LineRead, redact


class SectionPlace(NamedTuple):
    """Where a section stands: which of the files, its first line's number and text, the numbers of its lines."""

    source: int
    number: int
    header: str
    numbers: Sequence[int]


class Block(NamedTuple):
    """A section as people see it, secrets taken out.

    Attributes:
        header: its first line in the form that rules match; in trees, a blank within a quoted word is U+E000.
        file, number: where that line stands; the number is 0 where no line says it.
        lines: the lines below it without indentation; of statements, all of their lines.
        ordinal: how many sections whose first line begins with the same word stand before it in the same file.
    """

    header: str
    file: str
    number: int
    lines: list[str]
    ordinal: int


@dataclass(slots=True)
class Reading:
    """What a capture shows of a device.

    Attributes:
        platform: the dialect it was read as.
        lines: the capture's files with the account of each line.
        problem: why this is no whole configuration; empty where it is one.
        days: for each file, the day on which the device says that it was read; ``None`` where it does not.
    """

    platform: str
    lines: list[Lines] = field(repr=False)
    problem: str
    days: list[ReadOn | None] = field(repr=False)
    _places: list[SectionPlace] = field(repr=False)
    _resolved: Resolved = field(repr=False)
    wording: Wording = field(repr=False)
    _redacted: dict[int, list[str]] = field(default_factory=dict, repr=False)
    _blocks: list[Block] | None = field(default=None, repr=False)

    @property
    def state(self) -> DeviceState:
        """The observed settings."""
        return self._resolved.state

    @property
    def not_shown(self) -> dict[Setting, str]:
        """Areas, or fields of them, that this capture cannot show, with what to do about it."""
        return self._resolved.not_shown

    @property
    def born_as(self) -> dict[str, str]:
        """Names that ports were born with, and their names now."""
        return self._resolved.born_as

    @property
    def passphrases(self) -> dict[str, list[Passphrase]]:
        """By Wi-Fi name, the passphrases as they are stored; secret."""
        return self._resolved.passphrases

    @property
    def ineffective(self) -> frozenset[Setting]:
        """Ports and gateways that are set up and lead nowhere: bundles without ports, and what lies on such bridges."""
        return self._resolved.ineffective

    @property
    def lower_layer_down(self) -> frozenset[Setting]:
        """Ports and gateways that are on themselves and off by what is beneath them: a bundle's ports, a parent."""
        return self._resolved.lower_layer_down

    @property
    def vlans_off(self) -> frozenset[int]:
        """VLANs that a line switches off, be they built in or not."""
        return self._resolved.vlans_off

    @property
    def routing(self) -> bool:
        """Whether the device passes packets on between its layer-3 interfaces."""
        return self._resolved.routing

    def offered_at(self, address: str) -> set[str]:
        """Return the ways to log in, and ``snmp``, that are open in the VRF of one of the device's own addresses."""
        return self._resolved.offered.get(self._resolved.vrfs.get(address, DEFAULT_VRF), set())

    @property
    def line_count(self) -> int:
        """All lines."""
        return sum(len(source.texts) for source in self.lines)

    @property
    def audited_lines(self) -> int:
        """The lines of audited areas, read or not."""
        return self.count(AUDITED_KINDS)

    @property
    def complete(self) -> bool:
        """Whether this is a whole configuration of which every line of an audited area was understood."""
        return not self.problem and not self.count([Disposition.NOT_UNDERSTOOD])

    def count(self, kinds: Iterable[Disposition]) -> int:
        """Return how many lines are of some kinds."""
        return sum(source.kinds.count(kind) for source in self.lines for kind in kinds)

    def quoted_not_understood(self) -> list[QuotedLine]:
        """Return the lines of audited areas that were not understood, secrets taken out."""
        return [
            self._quote(Ref(source, number))
            for source, lines in enumerate(self.lines)
            for number in lines.numbered(Disposition.NOT_UNDERSTOOD)
        ]

    def evidence_of(self, setting: Setting) -> list[QuotedLine]:
        """Return the lines that a setting was observed in, secrets taken out; those of its item if it has none."""
        key = self.born_as.get(setting.key, setting.key) if setting.area in ("ports", "uplinks") else setting.key
        return [self._quote(ref) for ref in self._resolved.evidence.of(setting._replace(key=key))]

    @property
    def blocks(self) -> list[Block]:
        """All sections as they stand in the capture, in the order in which they were read."""
        if self._blocks is None:
            headers = [place.header.replace("\n", " ") for place in self._places]
            spaced = [freed(header) for header in headers]
            shown = redact(self.platform, spaced, read=self._read_of_header)
            headers = [
                one if one != plain else header for header, plain, one in zip(headers, spaced, shown, strict=True)
            ]
            counted: Counter[tuple[int, str]] = Counter()
            self._blocks = []
            for place, header in zip(self._places, headers, strict=True):
                kind = (place.source, header.partition(" ")[0])
                texts = [self._quote(Ref(place.source, n)).text.strip() for n in dict.fromkeys(place.numbers)]
                name = self.lines[place.source].name
                self._blocks.append(Block(header, name, place.number, texts, counted[kind]))
                counted[kind] += 1
        return self._blocks

    def blocks_of(self, setting: Setting) -> list[Block]:
        """Return the sections that an item, or a field of it, was observed in."""
        refs = {(line.file, line.line) for part in self._parts(setting) for line in self.evidence_of(part)}
        return [
            block
            for block, place in zip(self.blocks, self._places, strict=True)
            if any((block.file, number) in refs for number in (place.number, *place.numbers))
        ]

    def _parts(self, setting: Setting) -> list[Setting]:
        if setting.field or setting.area not in KEYED_AREAS:
            return [setting]
        return [setting, *(setting._replace(field=name) for name in fields_of(setting.area))]

    def remarked(self) -> list[tuple[QuotedLine, str]]:
        """Return what was read and is no setting: the line, and what is remarkable about it."""
        return [(self._quote(remark.ref), remark.text) for remark in self._resolved.remarks]

    def redacted(
        self,
        source: int,
        texts: list[str],
        keyed_digests: Mapping[str, str] | None = None,
        known: KnownSecrets | None = None,
        held: Mapping[int, frozenset[str]] | None = None,
    ) -> list[str]:
        """Return the lines of a file without secrets; what was read of them as names stays.

        Args:
            source: which of the files.
            texts: its lines, as they stand there or without what a pager has left in them.
            keyed_digests: what stands in the place of some secrets, by their text.
            known: secrets that are known word for word.
            held: by the index of a line, what stays wherever it stands in it.
        """
        read, altered = self.wording.of(source, held or {}), self.wording.altered(source)
        return redact(self.platform, texts, keyed_digests, read=read, altered=altered, known=known)

    def _read_of_header(self, index: int) -> LineRead:
        place = self._places[index]
        return self.wording.of(place.source)(place.number - 1)

    def _quote(self, ref: Ref) -> QuotedLine:
        lines = self.lines[ref.source]
        if ref.source not in self._redacted:
            self._redacted[ref.source] = self.redacted(ref.source, lines.texts)
        return QuotedLine(file=lines.name, line=ref.line, text=self._redacted[ref.source][ref.line - 1])


def read(platform: str, sources: Sequence[CaptureFile]) -> Reading:
    """Read one device's capture.

    Args:
        platform: a platform's name.
        sources: its files: the running configuration and listings, in any order.

    Returns:
        What was observed. A capture that is no whole configuration is a reading with a ``problem``, no error.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    return _Reader(dialect(platform)).read(sources)


class _Reader:
    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.rows = ReadRows()
        self.places: list[SectionPlace] = []
        self.wording = Wording()
        self.owned = 0

    def read(self, sources: Sequence[CaptureFile]) -> Reading:
        platform = self.dialect.platform
        lines = [lines_of(source) for source in sources]
        cut = LAYOUTS[platform.layout.kind]
        for index, text in enumerate(lines):
            for section in cut(text, platform, self.dialect.rules):
                self.section(section, text, index)
        whole = "\n".join(line for text in lines for line in text.texts)
        resolved = resolve(
            self.dialect, self.rows, [place.header for place in self.places], self.dialect.defaults_in(whole)
        )
        for ref in resolved.unknown:
            lines[ref.source].mark(ref.line, Disposition.NOT_UNDERSTOOD)
        days = [read_on(text, self.dialect.read_on) for text in lines]
        self.wording.keep(self.rows, lines)
        problem = self.problem(lines, whole)  # which may quote a line
        problem = redact(platform.name, [problem])[0] if problem else ""
        return Reading(platform.name, lines, problem, days, self.places, resolved, self.wording)

    def section(self, section: Section, lines: Lines, source: int) -> None:
        """Hand a section to the template that owns it and account for its lines."""
        self.places.append(SectionPlace(source, section.number, section.header, section.numbers))
        owner = section.owner
        if owner is None:
            return
        self.owned += 1
        inner, body = section.unfolded()
        numbers = section.numbers
        for each in inner:
            self.section(each, lines, source)
        if owner.rule.whole:
            body, numbers = f"{section.header}\n{body}", (section.number, *numbers)
        outcome = owner.template.read(body)
        lines.account(numbers, outcome.kinds)
        head, understood = owner.head(section.head, section.around)
        if not understood or not self.nameable(owner.template.feature, head):
            head.pop("name", None)
            lines.mark(section.number, Disposition.NOT_UNDERSTOOD)
        ref = Ref(source, section.number)
        rows, model = self.rows.of(owner.template.feature), owner.template.model
        if head and not outcome.records:
            rows.append(model(self.wording.shown(head), ref, numbers=numbers))
        for record in outcome.records:
            rows.append(model(self.wording.shown({**head, **record.values}), ref, record.trace, numbers))

    def nameable(self, feature: str, head: dict[str, Any]) -> bool:
        """Return whether the name in a first line can be that of an interface, or a range of them."""
        if feature != "interface" or "name" not in head or head.get("kind") == "network":
            return True
        try:
            self.dialect.names.names(head["name"])
        except ValueError:
            return False
        return True

    def problem(self, lines: list[Lines], whole: str) -> str:
        """Return why the capture is no whole configuration; empty where it is one."""
        for text in lines:
            if text.overlong:
                return overlong_words(text.name, text.overlong)
        if not whole.strip():
            return "the capture is empty"
        if not self.owned:
            for line in whole.split("\n"):
                if self.dialect.refusals.match(line):
                    return f"the device answered with an error instead of its configuration: {line.strip()!r}"
            return f"nothing in it is a configuration of {self.dialect.platform.name}"
        for text in lines:
            if text.problem:
                return f"{text.name}: {text.problem}"
            if not any(text.texts):
                return f"{text.name}: the file is empty"
            broken = [line.strip() for line in text.texts if self.dialect.interrupted.match(line)]
            if broken:
                return f"{text.name}: the device says that it stopped in the middle: {broken[-1]!r}"
        if len({row.head.source for row in self.rows.system if row.hostname}) > 1:
            return "more than one of its files is a configuration with a name: keep the one that holds"
        if self.dialect.ends_with and not any(self.ends(text) for text in lines):
            return "the line that ends a configuration is missing: the capture is cut short"
        return ""

    def ends(self, text: Lines) -> bool:
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
