"""One device with changed captures: what the audit tells, what it passes over, and what the reader makes of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from auditor.areas import Expected, Reading, expected_of, read
from auditor.compare.judge import judge
from auditor.platforms import catalogue
from auditor.reading.source import Disposition
from tests.compare.site import Site, device_of
from tests.silence.changes import Change, changes_of
from tests.silence.names import Wordings
from tests.silence.outline import Outline

QUIET = {
    Disposition.BLANK: "blank",
    Disposition.COMMENT: "comment",
    Disposition.NOISE: "noise",
    Disposition.LITERAL: "banner",
    Disposition.OUTSIDE: "outside",
    Disposition.HARMLESS: "harmless",
}
"""What the reader itself says of lines that are passed over for a reason: these changes need no entry by name."""
LISTED = {Disposition.LIMIT: "limit", Disposition.OVERRIDING: "overriding"}
"""The same of lines that are listed with their number: a change of one is there for everybody to see."""
_WORDS = re.compile(r"[\w.$/+-]+")


@dataclass
class Trials:
    """A device of a site whose captures conform.

    Attributes:
        site: the site.
        name: what the site is called.
        device: the device.
    """

    site: Site
    name: str
    device: str

    def __post_init__(self) -> None:
        report = self.site.audited()
        assert report.exit_code == 0, f"{self.name} does not conform: nothing of it can be silent"

    @cached_property
    def expected(self) -> Expected:
        """What the plan says of the device."""
        return expected_of(self.site.plan)[self.device]

    @property
    def platform(self) -> str:
        """Its dialect."""
        return self.expected.platform

    @cached_property
    def before(self) -> Reading:
        """Its captures as they are, read."""
        return self._read(self.site)

    @cached_property
    def _shown_before(self) -> tuple[object, ...]:
        return self._shown(self.before)

    @cached_property
    def outlines(self) -> dict[str, Outline]:
        """Its files, line by line."""
        layout = catalogue.get(self.platform).layout.kind
        found = {}
        for lines in self.before.lines:
            texts = self.site.text(lines.name).removesuffix("\n").split("\n")
            assert len(texts) == len(lines.kinds), f"{lines.name}: lines that a terminal shows otherwise"
            real = [kind not in QUIET or kind >= Disposition.OUTSIDE for kind in lines.kinds]
            found[lines.name] = Outline(layout, texts, real)
        return found

    @cached_property
    def wordings(self) -> dict[str, Wordings]:
        """The same, by what may be told of them."""
        return {
            file: Wordings(self.platform, outline.lines, self._redacted[file])
            for file, outline in self.outlines.items()
        }

    @cached_property
    def _redacted(self) -> dict[str, list[str]]:
        return {lines.name: self.before.redacted(at, lines.texts) for at, lines in enumerate(self.before.lines)}

    def changes(self) -> Iterator[Change]:
        """Yield all changes of all its files."""
        for file, outline in self.outlines.items():
            yield from changes_of(file, outline)

    def key(self, change: Change) -> str:
        """Return what tells a change from all others, of all devices."""
        return f"{self.name} {self.device} {change.key()}"

    def silent(self, change: Change) -> Reading | None:
        """Return what is read of a changed capture that still conforms; ``None`` where the audit tells the change.

        What is not understood, what mismatches, and what shows the same as before needs no more than the device; of
        everything else the site is audited.
        """
        changed = self.site.having(change.file, change.made_in(self.outlines[change.file].lines))
        after = self._read(changed)
        if after.problem or after.count([Disposition.NOT_UNDERSTOOD]):
            return None
        if self._shown(after) == self._shown_before:
            return after
        approved = any(deviation.device == self.device for deviation in self.site.plan.data.deviations)
        if not approved and judge(self.expected, after, lambda _: True).mismatches:
            return None
        return after if changed.audited().exit_code == 0 else None

    def reason(self, change: Change, after: Reading) -> str:
        """Return why the reader passes a change over, by the disposition of its lines; empty where they are read.

        An invented line has no meaning but that of the lines around it: within an audited section, or at the top, no
        disposition earns silence. Nor does it for a known line that is passed over where it does not belong.
        """
        (number,) = [at for at, lines in enumerate(self.before.lines) if lines.name == change.file]
        old, new = self.before.lines[number].kinds, after.lines[number].kinds
        first, behind = change.at, change.at + change.removed
        if old[:first] + old[behind:] != new[:first] + new[first + len(change.new) :]:
            return ""
        gone, come = old[first:behind], new[first : first + len(change.new)]
        told = {Disposition(kind) for kind in (*gone, *come)}
        if told <= LISTED.keys() and told:
            return LISTED[max(told)]
        strange = change.invented or (not gone and old[change.of] not in QUIET)
        if strange and not (change.head >= 0 and old[change.head] in QUIET) and not self._within_text(change, told):
            return ""
        return QUIET[max(map(Disposition, come or gone))] if told and told <= QUIET.keys() else ""

    @staticmethod
    def _within_text(change: Change, told: set[Disposition]) -> bool:
        """Return whether a changed word is one of a text that is no configuration before and after."""
        return change.removed > 0 and all(kind < Disposition.OUTSIDE for kind in told)

    def called(self, change: Change) -> str:
        """Return the name of a change: its kind, the sections around it, and what may be told of its line."""
        outline, words = self.outlines[change.file], self.wordings[change.file]
        if change.of < 0:
            return f"{change.kind}: at the top"
        around = [self._head(change.file, parent) for parent in outline.parents(change.of)]
        if change.kind == "word" and change.invented and self._kind(change.file, change.of) == Disposition.OUTSIDE:
            return f"word: {' / '.join((*around, 'the first one of a line outside'))}"
        if change.kind == "section" or (change.kind == "key" and outline.layout == "set"):
            first = change.new[0].strip(" {").removeprefix("config ")
            told = words.text(first, change.of)
        elif change.kind == "key":
            told = "an invented key" if change.removed else self._head(change.file, change.of)
        elif change.span and outline.layout == "statements" and outline.above[change.of] >= 0:
            told = words.value(change.of, change.span, change.swapped)
        else:
            told = words.of(change.of, change.span, change.swapped)
        return f"{change.kind}: {' / '.join((*around, told))}"

    def _head(self, file: str, number: int) -> str:
        """Return what may be told of a section; in packages of options its kind, whatever it is called."""
        told = self.wordings[file].of(number)
        return " ".join(told.split()[:2]) if self.outlines[file].layout == "uci" else told

    def _kind(self, file: str, number: int) -> int:
        return next(lines.kinds[number] for lines in self.before.lines if lines.name == file)

    def secrets(self, file: str, number: int) -> set[str]:
        """Return the words of a line that are left out where it is shown."""
        if number < 0:
            return set()
        text, shown = self.outlines[file].lines[number], self._redacted[file][number]
        return set(_WORDS.findall(text)) - set(_WORDS.findall(shown)) if text.rstrip() != shown.rstrip() else set()

    def _read(self, site: Site) -> Reading:
        captured = site.capture(self.device)
        return read(self.platform, getattr(captured, "files", ()))

    def _shown(self, reading: Reading) -> tuple[object, ...]:
        """Return all that an audit looks at of a reading; lines that bear on settings by what they say of them."""
        address, snooped, routes = self.expected.address, reading.snooped, reading.routes
        return (
            reading.observed,
            reading.not_shown,
            reading.passphrases,
            (reading.ineffective, reading.lower_layer_down, reading.vlans_off, reading.voice_marked, reading.routing),
            (reading.born_as, reading.bundles, reading.leads, reading.tags_into, reading.on_bridges, reading.in_tables),
            (reading.served_in, reading.blocked, reading.zoned, reading.vrf_of, reading.managed_in),
            sorted(reading.offered_at(address)) if address else (),
            {bundle: made.ways for bundle, made in reading.aggregations.items()},
            (set(snooped.vlans), set(snooped.servers), [port for port in reading.state.ports if snooped.trusts(port)]),
            (sorted(repr(replace(route, refs=())) for route in routes.every), replace(routes, every=())),
            [sorted(map(repr, lines.bearings.values())) for lines in reading.lines],
            sorted((line.why, line.on) for line in reading.open_lines.more),
        )


def trials_of(name: str, site: Site, platform: str) -> list[Trials]:
    """Return the devices of one platform of a site."""
    devices = site.plan.data.devices
    having = {device_of(file) for file in site.files}
    return [Trials(site, name, each) for each in devices if devices[each].platform == platform and each in having]
