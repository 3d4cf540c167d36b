"""From lines to lines without secrets: what each way of knowing one finds, less the names that were read."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from auditor.redact.blocks import armoured, beyond
from auditor.redact.known import KnownSecrets, is_distinctive, spelt
from auditor.redact.looks import Span, by_look, lowered
from auditor.redact.marks import REDACTED, JoinedText
from auditor.redact.names import ByName
from auditor.redact.patterns import by_dialect

_MARK = re.compile(r"<redacted>|\*{3,}")
_OTHER_MARK = "***"
"""The mark where a sign of the usual one is a delimiter."""
_KEYED_DIGEST = re.compile(r"sealed\.\d\.[0-9a-f.]+")
_LONGEST_SIGN = 6
"""Signs that one sign of a word is spelt with at most."""
_ESCAPED_QUOTE = re.compile(r"\\+[\"']")
_BETWEEN = re.compile(r"[\s\"'=,;:\[\](){}]|\Z")


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a reading took from a line.

    Attributes:
        shown: its texts that stay as they are, by what stands in the line: as they are shown, which is another text
            where a secret was written into a name.
        free: those of ``shown`` that mean nothing to the device, as descriptions: in them secrets that are known are
            taken out, too, unless they are plain words.
        passphrases: those of Wi-Fi names; secret.
        prose: the line is none of a configuration, as in a banner.
        named: those of ``shown`` that name a thing: what follows them belongs to the thing, not to such a word in it.
        held: what stays wherever it stands in the line, since the dialect cuts or reads the line by it.
    """

    shown: Mapping[str, str] = field(default_factory=dict)
    free: Collection[str] = ()
    passphrases: Collection[str] = ()
    prose: bool = False
    named: Collection[str] = ()
    held: Collection[str] = ()


NOTHING_READ = LineRead()


def redact(
    platform: str,
    lines: list[str],
    keyed_digests: Mapping[str, str] | None = None,
    *,
    read: Callable[[int], LineRead] = lambda _: NOTHING_READ,
    altered: Iterable[int] = (),
    known: KnownSecrets | None = None,
) -> list[str]:
    """Return the same lines with every secret replaced; one that is wrapped over lines is taken out of all.

    Args:
        platform: a platform's name. Each pattern under ``secrets`` in its platform.yaml has what comes before a secret
            as its first group and the secret as its second.
        lines: what is printed.
        keyed_digests: what stands in the place of some secrets, by their text.
        read: what was read of a line, by its index.
        altered: indexes of lines of which something is not shown as it stands there.
        known: secrets that are known word for word.
    """
    data = catalogue.get(platform)
    lines, places, still = list(lines), list(range(len(lines))), frozenset(altered)
    while places:  # what was found may be what kept another one on its line from being found
        joined = JoinedText([lines[index] for index in places], wraps=data.layout.kind == "statements")
        work = _Redactor(data, joined, keyed_digests or {}, [read(index) for index in places], known)
        for index, line in zip(places, work.lines([k for k, i in enumerate(places) if i in still]), strict=True):
            lines[index] = line
        places = [places[index] for index in work.changed]
    return lines


@lru_cache(maxsize=65536)
def without_written(text: str) -> str:
    """Return the text of a name or a description without the secrets in it."""
    at, found = 0, []
    for start, stop in _merged(_written(text)):
        found += [text[at:start], REDACTED]
        at = stop
    return "".join([*found, text[at:]])


def _written(text: str) -> Iterator[Span]:
    if len(text) > 5:
        yield from (span for span in by_look(text, lowered(text), strict=True))
        yield from ByName(text, strict=True).spans()


def _merged(spans: Iterable[Span]) -> list[Span]:
    """Return spans in their order, those that overlap as one."""
    found: list[Span] = []
    for start, stop in sorted(spans):
        if stop <= start:
            continue
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(stop, found[-1][1])
        else:
            found.append((start, stop))
    return found


class _Redactor:
    def __init__(
        self,
        platform: Platform,
        joined: JoinedText,
        keyed_digests: Mapping[str, str],
        reads: Sequence[LineRead],
        known: KnownSecrets | None,
    ) -> None:
        self.platform = platform
        self.joined = joined
        self.text = joined.text
        self.small = lowered(self.text)
        self.keyed_digests = keyed_digests
        kept = set(keyed_digests.values())
        sealed = [match.span() for match in _KEYED_DIGEST.finditer(self.text) if match[0] in kept]
        self.marked = sorted([*sealed, *(match.span() for match in _MARK.finditer(self.text))])
        self.reads = reads
        self.holds = any(read.held for read in reads)
        self.known = known
        self.changed: list[int] = []
        self.held: tuple[Span, tuple[re.Pattern[str] | None, str]] | None = None
        self.first: dict[tuple[Span, str], Span] = {}
        self.around: Span = (-1, -1)
        self.names: list[list[str]] = [[], []]
        self.passphrases: set[str] = set()

    def lines(self, altered: Collection[int]) -> list[str]:
        """Return the lines with marks in the place of what is secret; ``changed`` tells which have some."""
        by_name = ByName(self.text, is_prose=self.is_prose, is_named=self.is_named)
        rules = [*by_name.spans(), *by_look(self.text, self.small), *armoured(self.text)]
        rules += by_dialect(self.platform, self.text, self.small)
        rules += beyond(self.text, by_name.unclosed) if self.platform.layout.kind == "words" else ()
        known = _merged(self.known.spans(self.text)) if self.known else []
        found = [part for span in _merged(rules) for part in self.but_for_names(span, own=True)]
        found += [part for span in known for part in self.but_for_names(span, own=False)]
        by_rule = _merged(found) if altered else []
        found += [span for index in altered for span in self.altered(index, by_rule)]
        bare = [part for span in _merged(found) for held in self.but_for_held(span) for part in self.bare(held)]
        marks = [(span, mark) for span in bare if (mark := self.mark(span)) != self.text[slice(*span)]]
        self.changed = self.lines_of(span for span, _ in marks)
        return self.joined.having(marks)

    def is_prose(self, start: int) -> bool:
        return self.reads[self.joined.number(start)].prose

    def is_named(self, span: Span) -> bool:
        """Return whether a word is the first in its line that was read as a thing's name."""
        word, line = self.text[slice(*span)], self.joined.around(span)
        if word not in self.reads[self.joined.number(span[0])].named:
            return False
        if (line, word) not in self.first:
            self.first[line, word] = next(self.occurrences(word, *line), span)
        return self.first[line, word] == span

    def held_in(self, span: Span) -> tuple[re.Pattern[str] | None, str]:
        """Return the pattern of what stays on the line that a span is on, and the mark in which none of it is."""
        if self.held is None or not self.held[0][0] <= span[0] <= self.held[0][1]:
            words = {word for index in self.joined.numbers(span) for word in self.reads[index].held}
            parts = [
                rf"(?<![^\W_]){re.escape(word)}(?![^\W_])" if len(word) > 1 and word[0].isalnum() else re.escape(word)
                for word in sorted(words, key=lambda word: (-len(word), word))
            ]
            pattern = re.compile("|".join(parts)) if parts else None
            mark = _OTHER_MARK if any(word.strip() and word in REDACTED for word in words) else REDACTED
            self.held = self.joined.around(span), (pattern, mark)
        return self.held[1]

    def but_for_held(self, span: Span) -> list[Span]:
        """Return what is left of a span without what its dialect cuts or reads the line by."""
        if not self.holds or any(self.mark(bare) in self.keyed_digests.values() for bare in self.bare(span)):
            return [span]
        pattern = self.held_in(span)[0]
        kept, at = [], span[0]
        for match in pattern.finditer(self.text, *span) if pattern else ():
            kept.append((at, match.start()))
            at = match.end()
        return [*kept, (at, span[1])]

    def lines_of(self, spans: Iterable[Span]) -> list[int]:
        """Return the indexes of the lines that spans stand on, and of those joined with them."""
        found: list[int] = []
        end = -1
        for span in spans:
            if span[0] >= end:
                found += [index for index in self.joined.numbers(span) if not found or index > found[-1]]
                end = self.joined.around(span)[1]
        return found

    def but_for_names(self, span: Span, *, own: bool) -> list[Span]:
        """Return what is left of a span without the names in it that were read and stay as they are.

        ``own``: a rule has found it, and it may be a passphrase that is also a name; else it is known word for word.
        """
        names, passphrases = self.words_of(span, free=own or not is_distinctive(self.text[slice(*span)]))
        if not names:
            return [span]
        first, last = next(iter(self.bare(span)), span)
        kept = [span]
        text = self.text[first:last]
        if own and any(spelt(word).fullmatch(text) for word in passphrases):
            return kept
        for name in names:
            for begins, ends in self.occurrences(name, first, last):
                if begins <= first and last <= ends:
                    return []
                kept = [part for piece in kept for part in _without(piece, (begins, ends))]
        return kept

    def words_of(self, span: Span, *, free: bool) -> tuple[list[str], set[str]]:
        """Return what was read of the line of a span: the names that stay, the longest first, and passphrases.

        ``free``: whether texts that mean nothing to the device are among those that stay.
        """
        if self.around[0] > span[0] or span[0] > self.around[1]:
            self.around = self.joined.around(span)
            there = {id(read): read for read in (self.reads[index] for index in self.joined.numbers(span))}.values()
            every = {name for read in there for pair in read.shown.items() for name in pair}
            loose = {name for read in there for name in read.free}
            self.names = [sorted(names, key=len, reverse=True) for names in (every - loose, every)]
            self.passphrases = {word for read in there for word in read.passphrases}
        return self.names[free], self.passphrases

    def occurrences(self, word: str, first: int, last: int) -> Iterator[Span]:
        """Yield where a word stands in a part of the text, or over its ends, between blanks, quotes or the like."""
        text, (start, stop) = self.text, self.around
        if not start <= first <= last <= stop:
            start, stop = self.joined.around((first, last))
        part = max(start, first - _LONGEST_SIGN * len(word)), min(stop, last + _LONGEST_SIGN * len(word))
        plain = word.isalnum() or "\\" not in text[slice(*part)]
        pattern = re.compile(re.escape(word)) if plain else spelt(word)
        for match in pattern.finditer(text, *part):
            begins, ends = match.span()
            if (begins == start or _BETWEEN.match(text, begins - 1)) and (ends == stop or _BETWEEN.match(text, ends)):
                yield begins, ends

    def altered(self, index: int, by_rule: list[Span]) -> Iterator[Span]:
        """Yield what is not shown of the names that were read of a line, and passphrases that no rule has found.

        Where a passphrase is also a word of its line, as the name in front of it, only what a rule has found is it.
        """
        start, stop = self.joined.line(index)
        read = self.reads[index]
        for name, shown in read.shown.items():
            if name != shown:
                for begins, ends in self.occurrences(name, start, stop):
                    written = [(begins + a, begins + b) for a, b in _written(name)]
                    yield from written if ends - begins == len(name) else [(begins, ends)]
        for word in read.passphrases:
            if word in read.shown or self.keyed_digests.get(word, REDACTED) in self.text[start:stop]:
                continue
            places = list(self.occurrences(word, start, stop))
            if not any(_within(place, by_rule) for place in places):
                yield from places

    def bare(self, span: Span) -> list[Span]:
        """Return a span without the blanks and quotes around it; what is redacted in it already makes several of it."""
        parts, at = [], span[0]
        for index in range(bisect_right(self.marked, span[0], key=lambda mark: mark[1]), len(self.marked)):
            start, stop = self.marked[index]
            if start >= span[1]:
                break
            parts.append((at, start))
            at = max(at, stop)
        parts.append((at, span[1]))
        found = []
        for first, stop in parts:
            piece = self.text[first:stop]
            bare = _without_escaped_quotes(piece.strip())
            start = first + piece.index(bare)
            if len(bare) > 1 and bare[0] in "\"'":
                bare = bare[1:].removesuffix(bare[0])
                start += 1
            if bare.strip("\"'\\;,.() "):
                found.append((start, start + len(bare)))
        return found

    def mark(self, span: Span) -> str:
        text = self.text[slice(*span)]
        if text in self.keyed_digests:
            return self.keyed_digests[text]
        plain = self.held_in(span)[1] if self.holds else REDACTED
        return next(
            (keyed_digest for word, keyed_digest in self.keyed_digests.items() if spelt(word).fullmatch(text)), plain
        )


def _within(span: Span, others: list[Span]) -> bool:
    """Return whether a span is within one of others, which are in their order and do not overlap."""
    at = bisect_right(others, span[0], key=lambda other: other[0]) - 1
    return at >= 0 and span[1] <= others[at][1]


def _without(span: Span, part: Span) -> list[Span]:
    """Return what is left of a span without a part of it."""
    if part[1] <= span[0] or span[1] <= part[0]:
        return [span]
    return [piece for piece in ((span[0], part[0]), (part[1], span[1])) if piece[0] < piece[1]]


def _without_escaped_quotes(text: str) -> str:
    """Return a text without the quotes around it that have backslashes before them, and without these."""
    start, stop = 0, len(text)
    while quote := _ESCAPED_QUOTE.match(text, start):
        start = quote.end()
    while stop - 1 > start and text[stop - 1] in "\"'" and text[stop - 2] == "\\":
        stop -= 1
        while stop > start and text[stop - 1] == "\\":
            stop -= 1
    return text[start:stop]
