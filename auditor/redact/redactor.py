"""From lines to lines without secrets: what each way of knowing one finds, less what was read as a name and is shown."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import islice, pairwise

from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from auditor.redact.known import Known, spelt
from auditor.redact.looks import Span, by_look, lowered, on_lines
from auditor.redact.marks import REDACTED, Joined
from auditor.redact.names import ByName

_NOT_A_SECRET = re.compile(r"<redacted>|sealed\.\d\.[0-9a-f.]+|\*{3,}")
_ARMOUR = re.compile(r"-{4,5} ?BEGIN [^-\n]{2,60}-{4,5}")
"""The line above a key or certificate in the textual encodings of RFC 7468, and of RFC 4716."""
_ARMOUR_ENDS = re.compile(r"-{4,5} ?END ")
_ARMOURED = re.compile(r"[ \t]*(?:\|[ \t]*)?[A-Za-z0-9+/=]{16,}[ \t]*$|[ \t]*[\w-]{2,30}: [^\n]*$|[ \t]*$", re.MULTILINE)
_MOST_ARMOURED = 65536
_STATEMENT = re.compile(r"[ \t]*(?:set|unset|config|edit)[ \t]+\S")
_OTHER = "\0"
_CLASSES = re.compile(r"\[\^?(?:\\.|[^\]\\])+\]|\\[SsdDwWbB]")
_COUNTS = ("?", "*", "{")
_BETWEEN = re.compile(r"[\s\"'=,;]|\Z")


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a reading took from a line.

    Attributes:
        shown: its texts that stay as they are, by what stands in the line: as they are shown, which is another text
            where somebody has written a secret into a name.
        passphrases: those of Wi-Fi names; secret.
        prose: the line is none of a configuration, as in a banner.
    """

    shown: Mapping[str, str] = field(default_factory=dict)
    passphrases: Collection[str] = ()
    prose: bool = False


NOTHING_READ = LineRead()


def redact(
    platform: str,
    lines: list[str],
    seals: Mapping[str, str] | None = None,
    *,
    read: Callable[[int], LineRead] = lambda _: NOTHING_READ,
    altered: Iterable[int] = (),
    known: Known | None = None,
) -> list[str]:
    """Return the same lines with every secret replaced; one that is wrapped over lines is taken out of all.

    Args:
        platform: a platform's name. Each pattern under ``secrets`` in its platform.yaml has what comes before a secret
            as its first group and the secret as its second.
        lines: what is printed.
        seals: what stands in the place of some secrets, by their text.
        read: what was read of a line, by its index.
        altered: indexes of lines of which something is not shown as it stands there.
        known: secrets that are known word for word.
    """
    data = catalogue.get(platform)
    lines, indexes, still = list(lines), range(len(lines)), frozenset(altered)
    while indexes:  # what was found may be what kept another one on its line from being found
        places = list(indexes)
        joined = Joined([lines[index] for index in places], wraps=data.layout.kind == "statements")
        work = _Redactor(data, joined, seals or {}, lambda index, places=places: read(places[index]), known)  # type: ignore[misc]
        for index, line in zip(places, work.lines([k for k, i in enumerate(places) if i in still]), strict=True):
            lines[index] = line
        indexes = [places[index] for index in work.changed]
    return lines


@lru_cache(maxsize=65536)
def without_written(text: str) -> str:
    """Return what somebody has written into a name or a description without the secrets in it."""
    at, found = 0, []
    for start, stop in _merged(_written(text)):
        found += [text[at:start], REDACTED]
        at = stop
    return "".join([*found, text[at:]])


def _written(text: str) -> Iterator[Span]:
    if len(text) > 5:
        yield from (span for span in by_look(text, lowered(text), strict=True))
        yield from ByName(text, strict=True).spans()


@cache
def _patterns(platform: str) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Return the patterns of a platform, each with a text that is in all that it matches, if one is told."""
    secrets = catalogue.get(platform).secrets
    return tuple((_literal(secret), re.compile(secret, re.MULTILINE | re.IGNORECASE)) for secret in secrets)


def _secret(match: re.Match[str]) -> Span:
    """Return the second group that took part in a match."""
    groups = (match.span(number) for number in range(1, match.re.groups + 1) if match[number] is not None)
    return next(islice(groups, 1, None))


def _literal(pattern: str) -> str:
    """Return the longest text that a pattern's first group must have, told by its form; a line end where none is."""
    depth, found = 0, [""]
    for sign, following in pairwise(_CLASSES.sub(_OTHER, pattern) + _OTHER):
        depth += (sign == "(") - (sign == ")")
        if depth == 0 or (depth == 1 and sign == "|"):
            break
        if depth == 1 and (sign.isalpha() or sign in " -") and following not in _COUNTS:
            found[-1] += sign
        elif found[-1]:
            found.append("")
    told = max(found, key=len).lower() if depth == 0 else ""
    return told if len(told) > 1 else ""


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
        joined: Joined,
        seals: Mapping[str, str],
        read: Callable[[int], LineRead],
        known: Known | None,
    ) -> None:
        self.platform = platform
        self.joined = joined
        self.text = joined.text
        self.small = lowered(self.text)
        self.marked = [match.span() for match in _NOT_A_SECRET.finditer(self.text)]
        self.seals = seals
        self.read = read
        self.known = known
        self.changed: list[int] = []

    def lines(self, altered: Iterable[int]) -> list[str]:
        """Return the lines with marks in the place of what is secret; ``changed`` has the indexes of those with some."""
        by_name = ByName(self.text, is_prose=self.is_prose)
        rules = [*by_name.spans(), *by_look(self.text, self.small), *self.by_dialect(), *self.armoured()]
        rules += self.beyond(by_name.unclosed)
        known = _merged(self.known.spans(self.text)) if self.known else []
        found = [part for span in _merged(rules) for part in self.but_for_names(span, own=True)]
        found += [part for span in known for part in self.but_for_names(span, own=False)]
        found += [span for index in altered for span in self.altered(index)]
        spans = [bare for span in _merged(found) for bare in self.bare(span)]
        self.changed = sorted({index for span in spans for index in self.joined.numbers(span)})
        return self.joined.having((span, self.mark(span)) for span in spans)

    def is_prose(self, start: int) -> bool:
        return self.read(self.joined.number(start)).prose

    def by_dialect(self) -> Iterator[Span]:
        """Yield what the dialect's own patterns find, on lines or within its sections."""
        for literal, pattern in _patterns(self.platform.name):
            yield from map(_secret, on_lines(self.text, self.small, [literal], pattern))
        for rule in self.platform.secrets_within:
            behind = 0
            for opens in rule.opening.finditer(self.text):
                if opens.start() >= behind:
                    ends = rule.ending.search(self.text, opens.end())
                    behind = ends.start() if ends else len(self.text)
                    for pattern in rule.patterns:
                        yield from map(_secret, pattern.finditer(self.text, opens.end(), behind))

    def armoured(self) -> Iterator[Span]:
        """Yield the lines between the marks of keys and certificates, or those behind a mark that nothing closes."""
        text, ends = self.text, -1
        for begins in _ARMOUR.finditer(text) if "BEGIN " in text else ():
            start = begins.end()
            if ends is not None and ends < start:
                closed = _ARMOUR_ENDS.search(text, start)
                ends = closed.start() if closed else None
            stop = ends if ends is not None and ends - start < _MOST_ARMOURED else None
            if stop is None:
                stop = text.find("\n", start)
                while 0 <= stop < len(text) and (line := _ARMOURED.match(text, stop + 1)):
                    stop = max(line.end(), stop + 1)
            yield from self.each_line(start, stop)

    def each_line(self, start: int, stop: int) -> Iterator[Span]:
        while start < stop:
            end = self.text.find("\n", start, stop)
            end = stop if end < 0 else end
            yield start, end
            start = end + 1

    def beyond(self, unclosed: list[int]) -> Iterator[Span]:
        """Yield the lines on which a value in quotes goes on, where a dialect has such values."""
        if self.platform.layout.blocks != "words":
            return
        for at in unclosed:
            closed = self.text.find('"', at + 1, at + 1 + _MOST_ARMOURED)
            if closed >= 0 and not _STATEMENT.match(self.text, self.text.rfind("\n", 0, closed) + 1):
                yield from self.each_line(at + 1, closed)

    def but_for_names(self, span: Span, *, own: bool) -> list[Span]:
        """Return what is left of a span without the names in it that were read and stay as they are.

        ``own``: a rule has found it, and it may be a passphrase that is also a name; else it is one by chance.
        """
        reads = [read for read in map(self.read, self.joined.numbers(span)) if read.shown]
        if not reads:
            return [span]
        (start, stop), kept = self.joined.around(span), [span]
        ((first, last),) = self.bare(span) or [span]
        text = self.text[first:last]
        if own and any(spelt(word).fullmatch(text) for read in reads for word in read.passphrases):
            return kept
        names = {name for read in reads for pair in read.shown.items() for name in pair}
        for name in sorted(names, key=len, reverse=True):
            for begins, ends in self.occurrences(name, start, stop):
                if begins <= first and last <= ends:
                    return []
                kept = [part for piece in kept for part in _without(piece, (begins, ends))]
        return kept

    def occurrences(self, word: str, start: int, stop: int) -> Iterator[Span]:
        """Yield where a word stands in a part of the text, between blanks, quotes or the like."""
        text = self.text
        if not word:
            return
        plain = word.isalnum() or "\\" not in text[start:stop]
        for match in re.finditer(re.escape(word) if plain else spelt(word), text[start:stop]):
            begins, ends = start + match.start(), start + match.end()
            if (begins == start or _BETWEEN.match(text, begins - 1)) and (ends == stop or _BETWEEN.match(text, ends)):
                yield begins, ends

    def altered(self, index: int) -> Iterator[Span]:
        """Yield what is not shown of the names that were read of a line, and passphrases that no rule has found."""
        start, stop = self.joined.line(index)
        read = self.read(index)
        for name, shown in read.shown.items():
            if name != shown:
                for begins, ends in self.occurrences(name, start, stop):
                    written = [(begins + a, begins + b) for a, b in _written(name)]
                    yield from written if ends - begins == len(name) else [(begins, ends)]
        for word in read.passphrases:
            if word not in read.shown:
                yield from self.occurrences(word, start, stop)

    def bare(self, span: Span) -> list[Span]:
        """Return a span without the blanks and quotes around it; what is redacted in it already makes several of it."""
        parts = [span]
        for index in range(bisect_right(self.marked, span[0], key=lambda mark: mark[1]), len(self.marked)):
            if self.marked[index][0] >= span[1]:
                break
            parts = [piece for part in parts for piece in _without(part, self.marked[index])]
        found = []
        for start, stop in parts:
            piece = self.text[start:stop]
            bare = piece.strip()
            start += piece.index(bare)
            if len(bare) > 1 and bare[0] in "\"'":
                bare = bare[1:].removesuffix(bare[0])
                start += 1
            if bare.strip("\"'\\;,.() "):
                found.append((start, start + len(bare)))
        return found

    def mark(self, span: Span) -> str:
        text = self.text[slice(*span)]
        if text in self.seals:
            return self.seals[text]
        return next((seal for word, seal in self.seals.items() if spelt(word).fullmatch(text)), REDACTED)


def _without(span: Span, part: Span) -> list[Span]:
    """Return what is left of a span without a part of it."""
    if part[1] <= span[0] or span[1] <= part[0]:
        return [span]
    return [piece for piece in ((span[0], part[0]), (part[1], span[1])) if piece[0] < piece[1]]
