"""Changes of one captured file, a small one each: what happens to devices, and what nobody has ever written."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from tests.effort import SEED
from tests.silence.outline import Outline, indentation, key_lines, section_lines

KINDS = {
    "delete": "a line is deleted",
    "number": "a number is one higher",
    "word": "a word is replaced by an invented one",
    "swap": "a word is replaced by its opposite in the trade",
    "negate": "a line is negated, or no longer negated",
    "double": "a line stands at the end of another section, too",
    "key": "an invented key stands below a line, or at the end of a statement",
    "section": "an invented section stands at the top, or beside others",
}
"""What the first word of a change's name stands for."""
INVENTED = "zorple"
OPPOSITES = (
    *("yes no", "enable disable", "enabled disabled", "on off", "access trunk", "tagged untagged", "true false"),
    *("up down", "permit deny", "accept drop", "allow deny", "active passive", "static dhcp", "tcp udp", "read write"),
    *("input output", "server client", "plain none"),
)
SWAPS = {a: b for pair in OPPOSITES for a, b in (pair.split(), pair.split()[::-1])}
"""Words that one finds in each other's place, in configurations of any make (common practice, no source)."""
NEGATIONS = {"indented": ("", "no "), "words": ("set ", "unset "), "set": ("set ", "delete ")}
"""By layout, what a line that says something begins with, and one that takes it back."""
_NUMBER = re.compile(r"\d+")
_WORD = re.compile(r"[^\W\d_]+(?:[-_][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one file.

    Attributes:
        kind: one of KINDS.
        file: the file.
        at: the index of the first line that goes or in front of which new ones come.
        removed: how many lines go.
        new: what comes in their place.
        of: the index of the line that it is about; -1: none.
        span: where in that line something is changed.
        swapped: the word that takes the place of another, where it is one of the trade.
        head: the index of the line that new ones stand below; -1: none.
        invented: whether it is a new first word, so that no known line can be meant by it.
    """

    kind: str
    file: str
    at: int
    removed: int
    new: tuple[str, ...]
    of: int
    span: tuple[int, int] | None = None
    swapped: str = ""
    head: int = -1
    invented: bool = False

    def made_in(self, lines: list[str]) -> bytes:
        """Return the file with this change."""
        changed = [*lines[: self.at], *self.new, *lines[self.at + self.removed :]]
        return "".join(f"{line}\n" for line in changed).encode()

    def key(self) -> str:
        """Return what tells this change of a device from all others."""
        return f"{self.kind} {self.file} {self.at} {self.removed} {' '.join(self.new)}"


def changes_of(file: str, outline: Outline) -> Iterator[Change]:
    """Yield all changes of a file, each once."""
    seen: set[str] = set()
    for change in _every_change(file, outline):
        if (key := change.key()) not in seen:
            seen.add(key)
            yield change


def _every_change(file: str, outline: Outline) -> Iterator[Change]:
    for number, line in enumerate(outline.lines):
        yield Change("delete", file, number, 1, (), number, head=outline.above[number])
        if line.strip():
            yield from _within(file, outline, number)
            yield from _negated(file, outline, number)
            yield from _doubled(file, outline, number)
    yield from _keys(file, outline)
    yield from _sections(file, outline)


def _within(file: str, outline: Outline, number: int) -> Iterator[Change]:
    """Yield the changes of each number and each word of a line."""
    line, head = outline.lines[number], outline.above[number]
    for match in _NUMBER.finditer(line):
        raised = str(int(match[0]) + 1).zfill(len(match[0]))
        yield _replaced(file, number, line, match, raised, "number", head)
        if match[0] == "1" and line[match.start() - 1 : match.start()] in "'\"= ":
            yield _replaced(file, number, line, match, "0", "swap", head, swapped="0")
    for match in _WORD.finditer(line):
        first = match.start() == len(indentation(line))
        yield _replaced(file, number, line, match, INVENTED, "word", head, invented=first)
        if other := SWAPS.get(match[0].lower()):
            yield _replaced(file, number, line, match, other, "swap", head, swapped=other)


def _replaced(
    file: str,
    number: int,
    line: str,
    match: re.Match[str],
    new: str,
    kind: str,
    head: int,
    *,
    swapped: str = "",
    invented: bool = False,
) -> Change:
    text = line[: match.start()] + new + line[match.end() :]
    return Change(kind, file, number, 1, (text,), number, match.span(), swapped, head, invented)


def _negated(file: str, outline: Outline, number: int) -> Iterator[Change]:
    if outline.layout not in NEGATIONS or not outline.real[number] or number in outline.below:
        return
    says, denies = NEGATIONS[outline.layout]
    indent, text = indentation(outline.lines[number]), outline.lines[number].lstrip()
    if text.startswith(denies):
        new = says + text.removeprefix(denies)
    elif text.startswith(says):
        new = denies + text.removeprefix(says)
    else:
        return
    yield Change("negate", file, number, 1, (indent + new,), number, head=outline.above[number])


def _doubled(file: str, outline: Outline, number: int) -> Iterator[Change]:
    """Yield the line at the end of another section: which one, is drawn by what the line says and where it stands."""
    line, mine = outline.lines[number], outline.above[number]
    drawn = zlib.crc32(f"{SEED} {file} {mine} {line}".encode())
    if outline.layout == "set":
        yield from _doubled_in_tree(file, outline, number, drawn)
        return
    others = [head for head in outline.heads() if head not in (mine, number)]
    if not others or (number and outline.goes_on(number - 1)):
        return
    head = others[drawn % len(others)]
    last = number
    while outline.goes_on(last):
        last += 1
    texts = [outline.inner(head) + outline.lines[each].lstrip() for each in range(number, last + 1)]
    if outline.layout == "statements":
        texts = outline.lines[number : last + 1]
    yield Change("double", file, outline.end(head) + 1, 0, tuple(texts), number, head=head)


def _doubled_in_tree(file: str, outline: Outline, number: int, drawn: int) -> Iterator[Change]:
    """Yield the end of a line of a tree in another branch, where every line has all words of its own."""
    others = sorted({branch for line in _set_lines(outline) for branch in _branches(line)})
    *branch, key, value = outline.lines[number].split(" ") if outline.lines[number].count(" ") > 2 else ("", "", "")
    others = [other for other in others if other != " ".join(branch)]
    if key and others:
        yield Change("double", file, number + 1, 0, (f"{others[drawn % len(others)]} {key} {value}",), number)


def _set_lines(outline: Outline) -> Iterator[str]:
    return (line for line, real in zip(outline.lines, outline.real, strict=True) if real and line.startswith("set "))


def _branches(line: str) -> list[str]:
    """Return the branches of a tree that a line with all words goes along, the shortest first."""
    words = re.findall(r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|\S)+""", line)
    return [" ".join(words[:count]) for count in range(2, len(words))]


def _keys(file: str, outline: Outline) -> Iterator[Change]:
    """Yield an invented key below each line that others stand below, and at the end of each statement."""
    semicolons = any(line.endswith(";") for line in outline.lines)
    if outline.layout == "set":
        seen: set[str] = set()
        for number, line in enumerate(outline.lines):
            for branch in _branches(line) if outline.real[number] and line.startswith("set ") else ():
                if branch not in seen:
                    seen.add(branch)
                    yield Change("key", file, number + 1, 0, (f"{branch} {INVENTED} 1",), number, invented=True)
        return
    for head in outline.heads():
        for way in key_lines(outline.layout, semicolons=semicolons):
            texts = tuple(way(outline.inner(head)))
            yield Change("key", file, head + 1, 0, texts, head, head=head, invented=True)
    if outline.layout == "statements":
        for number, line in enumerate(outline.lines):
            if outline.above[number] >= 0 and not outline.goes_on(number):
                text = f"{line} {INVENTED}=1"
                yield Change("key", file, number, 1, (text,), number, head=outline.above[number], invented=True)


def _sections(file: str, outline: Outline) -> Iterator[Change]:
    """Yield an invented kind of section in front of the first line, and beside each section, by the words it shares."""
    semicolons = any(line.endswith(";") for line in outline.lines)
    seen: set[tuple[int, str]] = set()
    top = next((number for number, real in enumerate(outline.real) if real), None)
    if top is None:
        return
    for number in (top, *outline.heads()):
        head = -1 if number == top else outline.above[number]
        for words in ("",) if number == top else _openings(outline, number):
            if (head, words) not in seen:
                seen.add((head, words))
                indent = indentation(outline.lines[number])
                texts = section_lines(outline.layout, f"{words}{INVENTED}", indent, semicolons=semicolons)
                of = -1 if number == top else number
                yield Change("section", file, number, 0, tuple(texts), of, head=head, invented=True)


def _openings(outline: Outline, number: int) -> list[str]:
    """Return what an invented section beside another has in common with it: nothing, or its first words."""
    words = outline.lines[number].strip(" \t{}/").split()
    if outline.layout == "words":
        if words[:1] != ["config"]:
            return []
        del words[0]
    if outline.layout in ("uci", "set"):
        return [""]
    return ["", *(" ".join(words[:count]) + " " for count in range(1, len(words)))]
