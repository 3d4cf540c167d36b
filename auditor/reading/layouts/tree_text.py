"""The two ways in which a tree of statements is written: blocks in braces or whole paths, and blocks between words."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass, field

from auditor.platforms.definition import Platform, any_of
from auditor.reading.fields import HELD_BLANK
from auditor.reading.source import Disposition, Lines

WordPath = tuple[str, ...]
"""The words that lead to a block or statement, blanks inside of a word held."""

_TOKEN = re.compile(
    r"""
    (?P<comment>/\*.*?(?:\*/|$)|\#\#.*$)
    | "(?P<double>(?:[^"\\]|\\.)*)"(?P<after>;?)(?=\s|$)
    | '(?P<single>(?:[^']|'\\'')*)'(?P<after_single>;?)(?=\s|$)
    | (?P<bare>\S+)
    """,
    re.VERBOSE,
)
INACTIVE = "inactive:"
"""Stands in front of what is switched off as if it were not there."""
_WORD = re.compile(r'"((?:[^"\\]|\\.)*)"|\'([^\']*)\'(?=\s|$)|(\S+)', re.DOTALL)
PROTECTED = "protect:"
"""Stands in front of what nobody may change, and changes nothing of what it says."""
_QUOTE = re.compile(r'(?<!\\)(?:\\\\)*"')


@dataclass(slots=True)
class TreeBlock:
    """A block: the words that lead into it, the lines that open and close it, what became of what is in it."""

    path: WordPath
    parent: TreeBlock | None
    numbers: list[int]
    filled: bool = False
    off: bool = False
    entry: bool = False
    had_entries: bool = False
    disposition: Disposition = Disposition.OUTSIDE


@dataclass(slots=True)
class Statement:
    """A statement: all its words, those of the blocks around it first; its first line and all of its lines.

    ``shift``: how many words its blocks have that it has not. ``replaced``: a later one says the same thing anew.
    """

    words: WordPath
    number: int
    block: TreeBlock | None
    off: bool = False
    numbers: list[int] = field(default_factory=list)
    shift: int = 0
    replaced: bool = False

    def __post_init__(self) -> None:
        self.numbers = self.numbers or [self.number]


class Parser(ABC):
    """Reads lines into statements and blocks.

    Attributes:
        statements: all statements, and the blocks in which nothing stands.
        blocks: all blocks.
        switched_off: what statements elsewhere in the text switch off.
    """

    def __init__(self, lines: Lines, platform: Platform) -> None:
        self.lines = lines
        self.comment = tuple(platform.patterns("comment"))
        self.noise = any_of([*platform.patterns("noise"), platform.pattern("prompt")])
        self.script = any_of(platform.patterns("script"))
        self.statements: list[Statement] = []
        self.blocks: list[TreeBlock] = []
        self.switched_off: list[Statement] = []
        self.current: TreeBlock | None = None
        self.number = 0
        self.in_comment = False

    def run(self) -> None:
        """Read all lines."""
        texts = self.lines.texts
        while self.number < len(texts):
            self.number += 1
            text = texts[self.number - 1].strip()
            if not text:
                self.lines.mark(self.number, Disposition.BLANK)
            elif not self.in_comment and self.script.match(text):
                self.lines.refuse_script([self.number])
            elif self.in_comment or text.startswith((*self.comment, "/*")):
                self.lines.mark(self.number, Disposition.COMMENT)
                self.in_comment = (self.in_comment or text.startswith("/*")) and "*/" not in text
            elif self.noise.match(text):
                self.lines.mark(self.number, Disposition.NOISE)
            else:
                self.lines.mark(self.number, Disposition.OUTSIDE)
                self.line(text)
        if self.current or self.in_comment:
            opened = f" that begins in line {self.current.numbers[0]}" if self.current else ""
            self.problem(f"it stops inside a block{opened}: the capture is cut short")
        while self.current:
            self.close()

    @abstractmethod
    def line(self, text: str) -> None:
        """Take a line that is not blank."""

    def problem(self, text: str) -> None:
        """Say why the text cannot be whole; what was said first stays."""
        self.lines.problem = self.lines.problem or text

    def open(self, words: list[str], *, off: bool = False, entry: bool = False) -> None:
        """Enter a block."""
        outer = self.current
        if outer:
            outer.filled = True
        path = (*(outer.path if outer else ()), *words)
        self.current = TreeBlock(path, outer, [self.number], off=off or bool(outer and outer.off), entry=entry)
        self.blocks.append(self.current)

    def close(self) -> None:
        """Leave the block; one with nothing in it is a statement."""
        block = self.current
        if block is None:
            self.problem(f"line {self.number} closes a block that was never opened: this is no whole configuration")
            self.lines.mark(self.number, Disposition.NOT_UNDERSTOOD)
            return
        block.numbers.append(self.number)
        if not block.filled:
            self.statements.append(Statement(block.path, block.numbers[0], block, block.off))
        self.current = block.parent

    def statement(self, words: list[str], numbers: list[int] | None = None, *, off: bool = False) -> None:
        """Take a statement of the block."""
        block = self.current
        if block:
            block.filled = True
        path = (*(block.path if block else ()), *words)
        first = numbers[0] if numbers else self.number
        self.statements.append(Statement(path, first, block, off or bool(block and block.off), numbers or []))


class _Sign(str):
    """A sign that stands there without quotes: it makes blocks, lists and ends of statements."""

    __slots__ = ()


class Braces(Parser):
    """Blocks in braces, one statement a line or ``;`` behind it, lists in brackets; or ``set`` and the whole path."""

    def line(self, text: str) -> None:
        """Take the words of a line one by one."""
        if self.current is None and text.startswith(("set ", "deactivate ")):
            verb, *words = self._words(text)
            self._whole(verb, words)
            return
        words = []
        for word in self._words(text):
            sign = word if isinstance(word, _Sign) else ""
            if sign == "{":
                self.open(words, off=self._inactive(words))
                words = []
            elif sign == "}":
                self._end(words)
                words = []
                self.close()
            elif sign == ";":
                self._end(words)
                words = []
            else:
                words.append(word)
        self._end(words)

    def _words(self, text: str) -> list[str]:
        """Return the words of a line, unquoted, and ``;`` as a word of its own; comments left out."""
        found: list[str] = []
        for match in _TOKEN.finditer(text):
            if match["comment"]:
                self.in_comment = match["comment"].startswith("/*") and not match["comment"].endswith("*/")
                continue
            ended = match["after"] or match["after_single"]
            if match["bare"] is not None:
                bare = match["bare"]
                ended = ";" if bare.endswith(";") else ""
                word = bare.removesuffix(";")
            elif match["double"] is not None:
                word = re.sub(r"\\(.)", r"\1", match["double"])
            else:
                word = match["single"].replace("'\\''", "'")
            if match["bare"] is not None and word in ("{", "}", "[", "]"):
                found.append(_Sign(word))
            elif word or match["bare"] is None:
                found.append(held(word) if word else '""')
            if ended:
                found.append(_Sign(";"))
        return found

    def _whole(self, verb: str, words: list[str]) -> None:
        """Take a statement that stands there with all its words."""
        words = [word for word in words if not (word == ";" and isinstance(word, _Sign))]
        if verb == "set":
            self._end(words)
        else:
            self.switched_off.append(Statement(tuple(words), self.number, None))
            self.lines.mark(self.number, Disposition.COMMENT)

    def _inactive(self, words: list[str]) -> bool:
        """Take marks away that words begin with; return whether one is that of what is switched off."""
        off = False
        while words and words[0] in (INACTIVE, PROTECTED):
            off = off or words[0] == INACTIVE
            del words[0]
        return off

    def _end(self, words: list[str]) -> None:
        """Take a statement; each word of a list in brackets makes one of its own."""
        off = self._inactive(words)
        signs = [index for index, word in enumerate(words) if isinstance(word, _Sign)]
        if len(signs) > 1 and words[signs[0]] == "[" and words[-1] == "]":
            start = signs[0]
            for word in words[start + 1 : -1]:
                self.statement([*words[:start], word], off=off)
        elif words:
            self.statement(words, off=off)


class Worded(Parser):
    """Blocks between ``config`` and ``end``, entries of a table between ``edit`` and ``next``, ``set`` statements.

    What is set or unset again in the same entry is so from then on, and not as it was said before.
    """

    _STATEMENT = re.compile(r"\s*(?:(?:set|unset|config|edit)\s+\S|next\s*$|end\s*$)")
    _OPENS_QUOTE = re.compile(r"\s*(?:set|config|edit)\s(?:.*\s)?\"[^\"]*$")

    def __init__(self, lines: Lines, platform: Platform) -> None:
        super().__init__(lines, platform)
        self._said: dict[WordPath, Statement] = {}

    def line(self, text: str) -> None:
        """Take a line by its first word."""
        numbers = [self.number]
        if '"' in text and len(_QUOTE.findall(text)) % 2:
            text = self._quoted(text, numbers)
        verb, *words = self._words(text)
        match verb:
            case "config" if words:
                if self.current and not self.current.entry and self.current.had_entries:
                    self.problem(f"line {self.number} opens a block where another was not closed")
                    self.close()
                self.open(words)
            case "edit" if words and self.current and not self.current.entry:
                self.current.had_entries = True
                self.open(words, entry=True)
            case "edit" if words and self.current and self.current.parent:
                self.problem(f"line {self.number} opens an entry where another was not closed")
                self.close()
                self.open(words, entry=True)
            case "next" if not words and self.current and self.current.parent:
                if not self.current.entry:
                    self.problem(f"line {self.number} closes an entry in which a block was not closed")
                    self.close()
                self.close()
            case "end" if not words:
                if self.current and self.current.entry:
                    self.close()
                self.close()
            case "set" if words and self.current and (self.current.entry or not self.current.had_entries):
                self.statement(words, numbers)
                self._replace(words[0])
            case "set" | "edit" | "next" | "unset" if verb != "unset" or self.current is None:
                self.problem(f"line {numbers[0]} stands outside of the block that it belongs in")
                self.lines.mark(numbers[0], Disposition.NOT_UNDERSTOOD)
            case _:
                self.statement([verb, *words], numbers)
                if verb == "unset" and words:
                    self._replace(words[0])
        for number in numbers[1:]:
            self.lines.mark(number, Disposition.LITERAL)

    def _replace(self, key: str) -> None:
        """Have the last statement take the place of the one that said the same key of its entry before."""
        path = (*(self.current.path if self.current else ()), key)
        if before := self._said.get(path):
            before.replaced = True
        self._said[path] = self.statements[-1]

    def _quoted(self, text: str, numbers: list[int]) -> str:
        """Return a line with those that a quoted value goes on in; alone where its quote is never closed."""
        for following, line in enumerate(self.lines.texts[self.number :], self.number + 1):
            if quotes := len(_QUOTE.findall(line)):
                if self._STATEMENT.match(line) and (quotes % 2 == 0 or self._OPENS_QUOTE.match(line)):
                    break
                if quotes % 2:
                    numbers += range(self.number + 1, following + 1)
                    text = "\n".join([text, *self.lines.texts[self.number : following]])
                    self.number = following
                    return text
        else:
            if not any(self._STATEMENT.match(line) for line in self.lines.texts[self.number :]):
                self.problem("it stops inside a quoted value: the capture is cut short")
        self.problem(f"line {self.number} has a quote that is never closed")
        return text + '"'

    @staticmethod
    def _words(text: str) -> list[str]:
        found = []
        for match in _WORD.finditer(text):
            double, single, bare = match.groups()
            word = bare if bare is not None else single
            if double is not None:
                word = re.sub(r"\\(.)", r"\1", double) if "\\" in double else double
            found.append(held(word) if word else '""')
        return found


def held(word: str) -> str:
    """Return a word with the blanks in it held together, ends of lines spelt out."""
    if word.isalnum():
        return word
    word = word.replace(HELD_BLANK, "\ufffd").replace(" ", HELD_BLANK).replace("\t", HELD_BLANK)
    return word.replace("\n", "\\n")


PARSERS: dict[str, type[Parser]] = {"braces": Braces, "words": Worded}
"""By the word that stands in platform.yaml under ``layout: {kind: …}``."""
