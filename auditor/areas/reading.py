"""What a capture shows of a device: its settings, where each stands, and what became of the lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from auditor.areas.observation import Observation
from auditor.core.observed import Observed
from auditor.core.report import BearingLine, QuotedLine
from auditor.core.state import KEYED_AREAS, DeviceState, Setting, fields_of
from auditor.passphrases import StoredPassphrase
from auditor.reading.days import ReadOn
from auditor.reading.fields import freed
from auditor.reading.reader import SectionPlace
from auditor.reading.source import AUDITED_KINDS, Disposition, Lines, Ref
from auditor.reading.wording import Wording
from auditor.redact import KnownSecrets, LineRead, redact
from auditor.topology.system import DEFAULT_VRF


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
        observed: the settings, the filters, and what the device says of itself.
        wording: what was read of each line.
        days: for each file, the day on which the device says that it was read; ``None`` where it does not.
    """

    platform: str
    lines: list[Lines] = field(repr=False)
    problem: str
    days: list[ReadOn | None] = field(repr=False)
    observed: Observed
    wording: Wording = field(repr=False)
    _places: list[SectionPlace] = field(repr=False)
    _seen: Observation = field(repr=False)
    _redacted: dict[int, list[str]] = field(default_factory=dict, repr=False)
    _blocks: list[Block] | None = field(default=None, repr=False)

    @property
    def state(self) -> DeviceState:
        """The observed settings."""
        return self.observed.settings

    @property
    def not_shown(self) -> dict[Setting, str]:
        """Areas, or fields of them, that this capture cannot show, with what to do about it."""
        return self._seen.not_shown

    @property
    def born_as(self) -> dict[str, str]:
        """Names that ports were born with, and their names now."""
        return self._seen.topology.born_as

    @property
    def passphrases(self) -> dict[str, list[StoredPassphrase]]:
        """By Wi-Fi name, the passphrases as they are stored; secret."""
        return self._seen.passphrases

    @property
    def ineffective(self) -> frozenset[Setting]:
        """Ports and gateways that are set up and lead nowhere: bundles without ports, and what lies on such bridges."""
        return self._seen.topology.ineffective

    @property
    def lower_layer_down(self) -> frozenset[Setting]:
        """Ports and gateways that are on themselves and off by what is beneath them: a bundle's ports, a parent."""
        return self._seen.topology.lower_layer_down

    @property
    def vlans_off(self) -> frozenset[int]:
        """VLANs that a line switches off, be they built in or not."""
        return frozenset(self._seen.topology.layer2.off)

    @property
    def voice_marked(self) -> bool:
        """Whether a voice VLAN is a tagged one with a mark: a port in it is a trunk just as well."""
        return bool(self._seen.topology.layer2.voice)

    @property
    def routing(self) -> bool:
        """Whether the device passes packets on between its layer-3 interfaces."""
        return self._seen.topology.system.routing

    def offered_at(self, address: str) -> set[str]:
        """Return the ways to log in, and ``snmp``, that are open in the VRF of one of the device's own addresses."""
        return self._seen.offered.get(self._seen.topology.layer3.vrfs.get(address, DEFAULT_VRF), set())

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

    def bearing(self, kind: Disposition) -> list[BearingLine]:
        """Return the limits, or the overriding lines, secrets taken out."""
        return [
            BearingLine(**self._quote(Ref(source, number)).model_dump(), why=told.why, bears_on=[*map(str, told.on)])
            for source, lines in enumerate(self.lines)
            for number, told in sorted(lines.bearings.items())
            if lines.kinds[number - 1] == kind
        ]

    def evidence_of(self, setting: Setting) -> list[QuotedLine]:
        """Return the lines that a setting was observed in, secrets taken out; those of its item if it has none."""
        key = self.born_as.get(setting.key, setting.key) if setting.area in ("ports", "uplinks") else setting.key
        return [self._quote(ref) for ref in self._seen.evidence.of(setting._replace(key=key))]

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
        return [(self._quote(remark.ref), remark.text) for remark in self._seen.remarks]

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
