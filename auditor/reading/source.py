"""Saved text as lines: bytes decoded, terminal leftovers undone, every line still at its number."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from typing import NamedTuple

from auditor.core.state import Setting
from auditor.reading.terminal import UNSEEN, as_shown, needs_terminal

_PAGER = re.compile(
    r"^[ ]*(?:<?-+ ?more ?-+>?(?: or \(q\)uit|, next page: space, next line: enter, quit: control-c)?"
    r"|-+\(more[^)]*\)-+"
    r"|--+ \[q quit[^\]]*\]|press any key to continue[^\n]*|more: <space>, +quit: q[^\n<]*, one line: <return>)[ ]*",
    re.IGNORECASE,
)


MAX_LINE = 64 * 1024
"""Most characters of a line that is read: no configuration comes near, and what reads lines takes its time."""


_OTHER_ENDS = "\u2028\u2029\x85\x0b\x0c\x1c\x1d\x1e"
"""What Unicode takes for the end of a line (str.splitlines), and no dialect does."""


class Disposition(IntEnum):
    """What became of a line. Every line of a capture ends as one of these, and none as UNSEEN.

    HARMLESS: known, and cannot change anything that is audited or said; OUTSIDE: of no audited area; LIMIT: known, not
    modelled, and may block a service without changing what is planned; OVERRIDING: known, not modelled, and may make an
    audited setting untrue.
    """

    UNSEEN = 0
    BLANK = 1
    COMMENT = 2
    NOISE = 3
    LITERAL = 4
    OUTSIDE = 5
    HARMLESS = 6
    READ = 7
    LIMIT = 8
    OVERRIDING = 9
    NOT_UNDERSTOOD = 10


AUDITED_KINDS = frozenset(kind for kind in Disposition if kind >= Disposition.HARMLESS)


class Ref(NamedTuple):
    """A line of a capture: which of its files, and the line number (0: no line at all)."""

    source: int
    line: int


Refs = tuple[Ref, ...]


@dataclass(frozen=True, slots=True)
class Bearing:
    """Why a line is in a closed list, and what a limit or an overriding line bears on.

    Attributes:
        why: the reason.
        on: areas, or fields of them.
        section: the section whose items it bears on, by its place among all; ``None`` for all items.
        key: the item that the line itself names, as it stands there.
        contradicts: it says otherwise than other lines; where these are not as planned, that is told all the same.
        taken_back: the line of the same file that it takes back: it bears on all that is read of that one.
    """

    why: str
    on: tuple[Setting, ...] = ()
    section: int | None = None
    key: str = ""
    contradicts: bool = False
    taken_back: int = 0

    def also(self, other: Bearing) -> Bearing:
        """Return what a line bears on of which two things are said: items of both, each by its own key."""
        if self.section is not None or other.section is not None or self.contradicts != other.contradicts:
            return other
        on = dict.fromkeys((*self._keyed, *other._keyed))
        why = self.why if other.why in self.why else f"{self.why}. {other.why}"
        return replace(self, why=why, on=tuple(on), key="")

    @property
    def _keyed(self) -> tuple[Setting, ...]:
        """What it bears on, with the key that the line names; a list of ports is cut at its commas."""
        if not self.key:
            return self.on
        return tuple(
            place._replace(key=key)
            for place in self.on
            for key in (self.key.split(",") if place.area == "ports" else [self.key])
        )

    def beside(self, other: Bearing) -> Bearing:
        """Return what two parts of one line bear on."""
        if other.why == self.why or not self.on:
            return other
        alike = (self.section, self.key) == (other.section, other.key)
        place = (self.section, self.key) if alike else (None, "")
        return Bearing(f"{self.why} {other.why}", (*self.on, *other.on), *place)


@dataclass(frozen=True, slots=True)
class CaptureFile:
    """One file of a capture: its name as reports quote it, and its bytes."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        """The hash of the bytes, in hexadecimal."""
        return hashlib.sha256(self.data).hexdigest()


@dataclass(slots=True)
class Lines:
    """A source's lines, and the account of what became of each.

    Attributes:
        name: the source's name.
        texts: the lines without their ends and without trailing blanks; ``texts[0]`` is line 1.
        kinds: a Disposition for each line.
        loose: numbers of lines whose indentation a pager has spoiled.
        problem: why the text cannot be whole, where its form alone shows that.
        delimiters: by the number of a line, what text that is no configuration begins or ends with there.
        bearings: by the number of a line that stands in a closed list, the reason, and what it bears on.
        inherited: numbers of lines of groups, which hold elsewhere.
        overlong: the number of the first line that is longer than any of a configuration, and was not read; or 0.
    """

    name: str
    texts: list[str]
    kinds: bytearray
    loose: set[int] = field(default_factory=set)
    problem: str = ""
    delimiters: dict[int, str] = field(default_factory=dict)
    bearings: dict[int, Bearing] = field(default_factory=dict)
    inherited: set[int] = field(default_factory=set)
    overlong: int = 0

    def account(self, numbers: Sequence[int], kinds: bytes) -> None:
        """Say what became of the lines of a section that was read.

        Where several of its lines stand on one, the one that matters most is told: not understood before read before
        harmless. Blank ones, which may stand for lines of something else, are left as they are.
        """
        if isinstance(numbers, range) and Disposition.BLANK not in kinds:
            self.kinds[numbers.start - 1 : numbers.stop - 1] = kinds
            return
        told: dict[int, int] = {}
        for number, kind in zip(numbers, kinds, strict=True):
            if kind != Disposition.BLANK:
                told[number] = max(kind, told.get(number, 0))
        for number, kind in told.items():
            self.kinds[number - 1] = kind

    def mark(self, number: int, kind: Disposition, bearing: Bearing | None = None) -> None:
        """Say what became of a line (1-based), and of one in a closed list the reason, and what it bears on."""
        self.kinds[number - 1] = kind
        if bearing:
            self.bearings[number] = bearing

    def without_banners(self) -> list[str]:
        """Return the lines, but for text between delimiters that is no configuration."""
        first = self.kinds.find(Disposition.LITERAL) if self.delimiters else -1
        if first < 0:
            return self.texts
        within, found = False, self.texts[:first]
        for index in range(first, len(self.texts)):
            within = self.kinds[index] == Disposition.LITERAL and (within or index + 1 in self.delimiters)
            if not within:
                found.append(self.texts[index])
        return found

    def refuse_script(self, numbers: Iterable[int]) -> None:
        """Say that these lines are commands of a script: no settings, and the text is no configuration."""
        for number in numbers:
            self.mark(number, Disposition.OUTSIDE)
            self.problem = self.problem or (
                f"line {number} is a command of a script that sets a device up: this is no configuration of a device"
            )

    def numbered(self, kind: Disposition) -> Iterator[int]:
        """Yield the numbers of the lines of a kind."""
        return (index + 1 for index, found in enumerate(self.kinds) if found == kind)


def decode(data: bytes) -> str:
    """Return text: UTF-8, UTF-16 with its mark, or line by line whatever is no UTF-8 as Windows-1252."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "\n".join(decode_line(line) for line in data.split(b"\n"))


def decode_line(line: bytes) -> str:
    """Return a line's text: UTF-8, or else Windows-1252."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace")


def shown_lines(data: bytes) -> list[str]:
    """Return the lines of a text as a terminal shows them: what moves the cursor and what erases is carried out.

    What goes on in another row of a screen is a line of its own.
    """
    text = decode(data)
    texts = text.split("\n")
    if texts and not texts[-1]:
        texts.pop()
    if any(mark in text for mark in UNSEEN) or text.count("\r") != text.count("\r\n"):
        texts = [row for line in texts for row in (as_shown(line) if needs_terminal(line) else [line.rstrip("\r")])]
    return texts


def behind_pager(line: str) -> int:
    """Return where a line begins behind the words that a pager left in front of it."""
    match = _PAGER.match(line)
    return match.end() if match else 0


def lines_of(source: CaptureFile) -> Lines:
    """Cut a source into lines and undo what a terminal left in them (pagers, backspaces, escape sequences)."""
    texts = shown_lines(source.data)
    loose: set[int] = set()
    text = "\n".join(texts)
    lowered = text.lower()
    if "more" in lowered or "quit" in lowered or "press any" in lowered:
        for index, line in enumerate(texts):
            if match := _PAGER.match(line):
                texts[index] = line[match.end() :]
                loose.add(index + 1)
    texts = [line.rstrip() for line in texts]
    found = Lines(source.name, texts, bytearray(len(texts)), loose, overlong=overlong_in(texts))
    if sum(map(text.count, _OTHER_ENDS)) > len(texts):
        found.problem = "its lines end in signs that no device ends lines with: save it with ordinary line ends"
    if found.overlong:
        found.texts = [line if len(line) <= MAX_LINE else "" for line in texts]
    return found


def overlong_in(texts: Iterable[str]) -> int:
    """Return the number of the first line that is longer than any of a configuration; 0 where none is."""
    return next((number for number, line in enumerate(texts, 1) if len(line) > MAX_LINE), 0)


def overlong_words(name: str, number: int) -> str:
    """Return why a file with a line that is too long is not read."""
    return f"{name}: line {number} is longer than any line of a configuration: save the file again, or take it out"
