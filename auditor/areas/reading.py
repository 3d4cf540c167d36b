"""What a capture shows of a device: its settings, where each stands, and what became of the lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from auditor.areas.block import Block
from auditor.areas.device_read import DeviceRead
from auditor.areas.observation import Observation
from auditor.areas.open_settings import OpenLines
from auditor.core.observed import Observed
from auditor.core.report import BearingLine, QuotedLine
from auditor.core.state import KEYED_AREAS, Setting, fields_of
from auditor.platforms import catalogue
from auditor.platforms.definition import any_of
from auditor.reading.days import ReadOn
from auditor.reading.fields import freed
from auditor.reading.reader import SectionPlace
from auditor.reading.source import AUDITED_KINDS, Disposition, Lines, Ref, Refs
from auditor.reading.stored import stored_at
from auditor.reading.wording import Wording
from auditor.redact import KnownSecrets, LineRead, redact


@dataclass(slots=True)
class Reading(DeviceRead):
    """What a capture shows of a device.

    Attributes:
        platform: the dialect it was read as.
        lines: the capture's files with the account of each line.
        problem: why this is no whole configuration; empty where it is one.
        observed: the settings, the filters, and what the device says of itself.
        wording: what was read of each line.
        numbered: the numbers that domains without one were given for a comparison (areas/numbering.py).
        days: for each file, the day on which the device says that it was read; ``None`` where it does not.
    """

    platform: str
    lines: list[Lines] = field(repr=False)
    problem: str
    days: list[ReadOn | None] = field(repr=False)
    observed: Observed
    wording: Wording = field(repr=False)
    numbered: Mapping[str, int] = field(default_factory=dict, kw_only=True)
    _places: list[SectionPlace] = field(repr=False)
    _seen: Observation = field(repr=False)
    _redacted: dict[int, list[str]] = field(default_factory=dict, repr=False)
    _blocks: list[Block] | None = field(default=None, repr=False)
    _open: OpenLines | None = field(default=None, repr=False)

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

    def every_line(self) -> Iterator[tuple[QuotedLine, Disposition, str]]:
        """Yield every line, secrets taken out, what became of it, and why it is in a closed list, if it is."""
        for source, lines in enumerate(self.lines):
            for number, kind in enumerate(lines.kinds, 1):
                bearing = lines.bearings.get(number)
                yield self._quote(Ref(source, number)), Disposition(kind), bearing.why if bearing else ""

    def quoted_not_understood(self) -> list[QuotedLine]:
        """Return the lines of audited areas that were not understood, secrets taken out."""
        return [
            self._quote(Ref(source, number))
            for source, lines in enumerate(self.lines)
            for number in lines.numbered(Disposition.NOT_UNDERSTOOD)
        ]

    @property
    def open_lines(self) -> OpenLines:
        """The lines that leave settings open, or that limit a service."""
        if self._open is None:
            whole = self._seen.evidence.whole
            self._open = OpenLines(
                self.platform,
                self.lines,
                self._places,
                self.state,
                lambda item: {ref for place in self._as_noted(item) for ref in whole(place)},
                inside=lambda item: {ref for at in self._as_noted(item) for ref in self._seen.evidence.inside(at)},
                also_called=self._also_called,
                more=self._seen.topology.overriding,
            )
        return self._open

    def override(self, refs: Iterable[Ref], why: str, setting: Setting) -> None:
        """Have lines override a setting, for what is known of other devices."""
        self._seen.topology.overriding += [(ref, why, setting) for ref in refs]
        self._open = None

    def bearing(self, kind: Disposition, planned: Iterable[Setting] | None = None) -> list[BearingLine]:
        """Return the limits, or the overriding lines, secrets taken out.

        Args:
            kind: which of them.
            planned: settings: then only lines that bear on one of these, and which ones.
        """
        found = []
        settings = list(planned or ())
        for line in self.open_lines.of(kind):
            bears_on = line.on if planned is None else line.bears_on(settings)
            if bears_on or planned is None:
                quoted = self._quote(line.ref)
                found.append(BearingLine(**quoted.model_dump(), why=line.why, bears_on=[*map(str, bears_on)]))
        return found

    def left_open(self, planned: Iterable[Setting], *, contradicting: bool = False) -> dict[Setting, list[BearingLine]]:
        """Return for planned settings the lines that leave them open; ``why`` is empty where nobody understood it.

        Args:
            planned: the settings.
            contradicting: only the lines that contradict others, or only the rest.
        """
        settings = list(planned)
        found: dict[Setting, list[BearingLine]] = {}
        for line in self.open_lines.of(Disposition.NOT_UNDERSTOOD, Disposition.OVERRIDING):
            if line.contradicts != contradicting:
                continue
            told: BearingLine | None = None
            for setting in line.bears_on(settings):
                told = told or BearingLine(**self._quote(line.ref).model_dump(), why=line.why)
                found.setdefault(setting, []).append(told)
        return found

    def evidence_of(self, setting: Setting) -> list[QuotedLine]:
        """Return the lines that a setting was observed in, secrets taken out; those of its item if it has none."""
        return [self._quote(ref) for ref in self.refs_of(setting)]

    def refs_of(self, setting: Setting) -> Refs:
        """Return where these lines stand."""
        return tuple(sorted({ref for place in self._as_noted(setting) for ref in self._seen.evidence.of(place)}))

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

    @property
    def stored(self) -> list[QuotedLine]:
        """The lines that say of a file that it is what the device starts with, and not what it runs."""
        pattern = any_of(catalogue.get(self.platform).patterns("stored"))
        found = ((source, stored_at(lines, pattern)) for source, lines in enumerate(self.lines))
        return [self._quote(Ref(source, number)) for source, number in found if number]

    def remarked(self) -> list[tuple[QuotedLine, str]]:
        """Return what was read and is no setting: the line, and what is remarkable about it."""
        stored = [
            (line, "the configuration that the device starts with, not the one that it runs") for line in self.stored
        ]
        return stored + [(self._quote(remark.ref), remark.text) for remark in self._seen.remarks]

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
