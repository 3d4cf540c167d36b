"""Lines that take back what a line before them said: ``no X`` below ``X``, which a device would not show together.

They come into captures that are put together from several, or from what was entered. Where the template reads both into
one value, the later one counts, and nothing is left to tell.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache

from auditor.core.values import VlanSet
from auditor.reading.source import Disposition, Lines, Ref

WHY = "This line takes back one that stands above it: check which of the two holds, and capture the device again"
_NEGATED = re.compile(r"\s*(?:no|unset) (\S.*?)\s*", re.IGNORECASE)
_LIST = re.compile(r"\d+(?:[,-]\d+)*")
_SILENT = (Disposition.READ, Disposition.HARMLESS)

Fields = Mapping[Ref, set[str]]
"""By line, the fields that it was read into."""


def taken_back(
    lines: Sequence[Lines],
    blocks: Iterable[tuple[int, str, Sequence[int]]],
    fields: Callable[[], Fields],
    shown: Callable[[str], str],
) -> Iterator[tuple[Ref, Ref]]:
    """Yield lines that take another one back, with it.

    Args:
        lines: the files, of which is known what became of each line.
        blocks: of each section the file, its first line, and the numbers of its lines.
        fields: tells what lines were read into; it is asked where there are such lines.
        shown: returns a line without its secrets: what takes back what must not hang on them, since they are masked.
    """
    of: dict[tuple[int, str], list[int]] = {}
    for source, header, numbers in blocks:
        of.setdefault((source, header), []).extend(numbers)
    shown = cache(shown)
    known: Fields | None = None
    for (source, _), numbers in of.items():
        texts, kinds = lines[source].texts, lines[source].kinds
        negated = [
            (number, match[1])
            for number in numbers
            if kinds[number - 1] in _SILENT and (match := _NEGATED.fullmatch(texts[number - 1]))
        ]
        if not negated:
            continue
        above = _by_first_word((n, texts[n - 1].lower().split()) for n in numbers if kinds[n - 1] == Disposition.READ)
        for number, what in negated:
            words = what.lower().split()
            candidates = [(n, t) for n, t in above.get(words[0], ()) if n < number and len(t) >= len(words)]
            if not candidates:
                continue
            loosely = kinds[number - 1] != Disposition.READ
            public = shown(what).lower().split()
            masked = public != words
            for earlier, told in candidates:
                if not masked and not all(map(_alike, told, words)):
                    continue
                if _begins(shown(texts[earlier - 1]).lower().split(), public, loosely=loosely):
                    known = fields() if known is None else known
                    ref, other = Ref(source, number), Ref(source, earlier)
                    into = known.get(other, set())
                    if into and into.isdisjoint(known.get(ref, ())):
                        yield ref, other


def _by_first_word(lines: Iterable[tuple[int, list[str]]]) -> dict[str, list[tuple[int, list[str]]]]:
    found: dict[str, list[tuple[int, list[str]]]] = {}
    for number, words in lines:
        if words:
            found.setdefault(words[0], []).append((number, words))
    return found


def _begins(told: Sequence[str], words: Sequence[str], *, loosely: bool) -> bool:
    """Return whether a line begins with some words; not loosely, what follows them must be a value."""
    if len(told) < len(words) or not all(map(_alike, told, words)):
        return False
    return loosely or len(told) == len(words) or not told[len(words)].isalpha()


def _alike(one: str, other: str) -> bool:
    if one == other or not (_LIST.fullmatch(one) and _LIST.fullmatch(other)):
        return one == other
    try:
        return bool(VlanSet.parse(one) & VlanSet.parse(other))
    except ValueError:
        return False
