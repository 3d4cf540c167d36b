"""Lines that are known and not read: each stands in a closed list of its platform, with what it is and why."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from auditor.core.state import Setting
from auditor.platforms.definition import Platform, SectionRule
from auditor.platforms.shape import OverridingLines
from auditor.reading.source import Disposition

_REMEMBERED = 8192


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of a line.

    Attributes:
        kind: what becomes of it.
        why: the reason, as it stands in the list.
        on: areas, or fields of them, that an overriding line bears on.
        everywhere: whether it bears on all items of these, and not on those of its own section alone.
        key: the item that the line itself names, as it stands there; empty where it names none.
        block: whether all that stands deeper below it is as it is.
        when: it is so only in captures in which this occurs; ``otherwise`` it is this, or nothing here knows it.
        read: a template reads it all the same.
    """

    kind: Disposition
    why: str
    on: tuple[Setting, ...] = ()
    everywhere: bool = False
    key: str = ""
    block: bool = False
    when: str | None = None
    otherwise: Told | None = None
    read: bool = False


_BEGINS = re.compile(r"(?:\(no \)\?)?(?:([\w:-]+)|\((?:\?:)?((?:[\w:-]+\|)*[\w:-]+)\))(?= (?![?*+{])|\( |\Z)")
"""A pattern whose first word, behind a "no" that may be there, is one of some that it spells out."""


class KnownLines:
    """The closed lists of a platform, or of sections of one kind.

    One pattern for each first word, since most lines begin with a word that few entries do.
    ``though_read``: those lines that are limits, or are overriding, though a template reads them.
    """

    def __init__(self, lists: Iterable[tuple[list[str], Told]], though_read: KnownLines | None = None) -> None:
        self.though_read = though_read
        lists = list(lists)
        always = [(patterns, told) for patterns, told in lists if told.when is None]
        self._always = KnownLines(always) if len(always) < len(lists) else self
        self._told: list[Told] = []
        self._remembered: dict[str, Told | None] = {}
        every: list[tuple[int, str, frozenset[str]]] = []
        for patterns, told in lists:
            for pattern in patterns:
                every.append((len(self._told), pattern, _first_words(pattern)))
                self._told.append(told)
        words = {word for _, _, begins in every for word in begins}
        self._by_word = {word: _as_one(e for e in every if word in e[2] or not e[2]) for word in words}
        self._others = _as_one(e for e in every if not e[2])

    def of(self, text: str) -> Told | None:
        """Return what is known of a line, or of a section by its first line; ``None`` where nothing is."""
        if text not in self._remembered:
            if len(self._remembered) >= _REMEMBERED:
                self._remembered.clear()
            self._remembered[text] = self._find(text)
        return self._remembered[text]

    def _find(self, text: str) -> Told | None:
        word, _, rest = text.partition(" ")
        if word.lower() == "no":
            word = rest.partition(" ")[0]
        pattern = self._by_word.get(word.lower(), self._others)
        match = pattern.match(text)
        if match is None or match.lastgroup is None:
            return None
        index = int(match.lastgroup[5:])
        told = self._told[index]
        if told.when is not None:
            told = replace(told, otherwise=self._always.of(text))
        key = match[f"key_{index}"] if f"key_{index}" in pattern.groupindex else ""
        return replace(told, key=key.strip()) if key else told


def _first_words(pattern: str) -> frozenset[str]:
    """Return the words, one of which a line has to begin with to match; none where that is not told at once."""
    found = _BEGINS.match(pattern)
    depth = 0
    for sign in re.sub(r"\\.|\[[^]]*\]", "", pattern):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if sign == "|" and not depth:
            return frozenset()
    words = found and (found[1] or found[2]).lower().split("|")
    return frozenset(words) if words and "no" not in words else frozenset()


def _as_one(entries: Iterable[tuple[int, str, frozenset[str]]]) -> re.Pattern[str]:
    parts = [f"(?P<told_{i}>{pattern.replace('(?P<KEY>', f'(?P<key_{i}>')})" for i, pattern, _ in entries]
    return re.compile("(?:" + "|".join(parts) + r")\Z" if parts else r"(?!)", re.IGNORECASE)


def known_of(rule: SectionRule) -> KnownLines:
    """Return what is known of the lines of a kind of section."""
    read = [each for each in rule.overriding if each.read and not each.conditional]
    more = _reasons(rule.limits, Disposition.LIMIT)
    though_read = KnownLines([*_overriding(read), *more]) if read or more else None
    return KnownLines([*_lists(rule), *_reasons(rule.blocks, Disposition.HARMLESS, block=True)], though_read)


def known_sections(platform: Platform) -> KnownLines:
    """Return what is known of sections that nothing reads, by their first lines."""
    return KnownLines([*_lists(platform), *_reasons(platform.outside, Disposition.OUTSIDE)])


def _lists(part: SectionRule | Platform) -> list[tuple[list[str], Told]]:
    """Return the lists that sections and whole platforms have alike; what overrides is looked for first."""
    limits, harmless = _reasons(part.limits, Disposition.LIMIT), _reasons(part.harmless, Disposition.HARMLESS)
    return [*_overriding(each for each in part.overriding if not each.conditional), *limits, *harmless]


def _overriding(lists: Iterable[OverridingLines]) -> list[tuple[list[str], Told]]:
    return [(each.lines, _told(each)) for each in lists]


def _told(each: OverridingLines, key: str = "") -> Told:
    on, kind = tuple(each.bears_on), Disposition.OVERRIDING
    return Told(kind, each.why, on, each.everywhere, key, when=each.when, read=each.read)


def _reasons(lists: Mapping[str, list[str]], kind: Disposition, *, block: bool = False) -> list[tuple[list[str], Told]]:
    return [(patterns, Told(kind, why, block=block)) for why, patterns in lists.items()]


@dataclass(frozen=True, slots=True)
class Missing:
    """What is known of a line by other lines of the capture or (``beside``) of its section.

    Attributes:
        told: what is known of it then.
        other: a pattern of a line that must not be there; empty where none must not.
        where: patterns of lines that have to be there, each filled with what ``groups`` and those before it hold.
    """

    told: Told
    other: str
    beside: bool
    where: tuple[str, ...] = ()
    groups: Mapping[str, str] = field(default_factory=dict)

    def holds(self, lines: Collection[str]) -> bool:
        """Return whether it is so among these lines."""
        if self.other and any(map(re.compile(_filled(self.other, self.groups), re.IGNORECASE).fullmatch, lines)):
            return False
        return _all_there(self.where, self.groups, lines)


def _filled(pattern: str, groups: Mapping[str, str]) -> str:
    for name, value in groups.items():
        pattern = pattern.replace(f"{{{name}}}", re.escape(value))
    return pattern


def _all_there(patterns: Sequence[str], groups: Mapping[str, str], lines: Collection[str]) -> bool:
    """Return whether there are lines like all of these, each of which may name what one before it has."""
    if not patterns:
        return True
    first = re.compile(_filled(patterns[0], groups), re.IGNORECASE)
    found = (match for line in lines if (match := first.fullmatch(line)))
    return any(_all_there(patterns[1:], {**groups, **_groups(match)}, lines) for match in found)


def _groups(match: re.Match[str]) -> dict[str, str]:
    return {name: value or "" for name, value in match.groupdict().items()}


class Conditions:
    """Lines of a part that override where another line is missing which they name or need, or is there."""

    def __init__(self, part: SectionRule | Platform) -> None:
        conditional = [each for each in part.overriding if each.conditional]
        self._every = [(re.compile(text, re.IGNORECASE), each) for each in conditional for text in each.lines]
        self._remembered: dict[tuple[str, str], tuple[Missing, ...]] = {}

    def __bool__(self) -> bool:
        """Whether there are any."""
        return bool(self._every)

    def of(self, text: str, header: str = "") -> tuple[Missing, ...]:
        """Return what would be known of a line, condition by condition; ``header`` is its section's first line."""
        asked = text, header.rpartition(" ")[2]
        if asked not in self._remembered:
            if len(self._remembered) >= _REMEMBERED:
                self._remembered.clear()
            self._remembered[asked] = tuple(self._find(*asked))
        return self._remembered[asked]

    def _find(self, text: str, head: str) -> Iterator[Missing]:
        for pattern, each in self._every:
            if match := pattern.fullmatch(text):
                groups = {**_groups(match), "head": head}
                told = _told(each, groups.get("KEY", ""))
                yield Missing(told, each.unless, each.beside, tuple(each.where), groups)
