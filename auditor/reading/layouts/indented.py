"""Blocks by indentation: a line at the margin opens a section, indented lines below belong to it.

Sections are cut out of the text whole; what a line of theirs is to a template is worked out by ``preparation``, once
for each line that is new.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

from auditor.platforms.definition import Platform, SectionRule, any_of
from auditor.platforms.shape import BLOCK_ENDS
from auditor.reading.rows import Preparation
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_BLANKS = re.compile(r"(?<=\S)[ \t]{2,}")
_CHOSEN = re.compile(r"(?:no )?(?:description|name|(?:dot11 )?ssid|(?:hostname|option)(?= [^\"]*\"))[ ]", re.IGNORECASE)
"""Lines with text that people have chosen: runs of blanks in it mean something."""


@cache
def _token(comment: tuple[str, ...]) -> re.Pattern[str]:
    """Return the pattern of a piece of text: a line at the margin and what hangs below it, or either of them."""
    sign = "(?:" + "|".join(re.escape(prefix) for prefix in comment) + ")"
    return re.compile(
        rf"""
        (?: ^(?!{sign})([^ \t\n][^\n]*)\n ((?:[ \t][^\n]*\n)*)   # a line at the margin, indented lines below it
          | ^((?:[ \t][^\n]*\n)+)                                # indented lines with nothing right above them
          | ^(?={sign}) )
        ((?:{sign}[^\n]*\n)*)                                    # comments at the margin
        """,
        re.MULTILINE | re.VERBOSE,
    )


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut a text into sections and account for every line that is in none."""
    if platform.layout.runs_away:
        _come_back(lines, any_of(platform.layout.runs_away), rules)
    return _Cutter(lines, platform, rules).run()


def _come_back(lines: Lines, runs_away: re.Pattern[str], rules: Rules) -> None:
    """Take the indentation off lines that a device indents too deep, from the first that opens a section onwards."""
    within, depth = False, 0
    for index, line in enumerate(lines.texts):
        text = line.lstrip()
        indent = len(line) - len(text)
        if text and not indent:
            within, depth = runs_away.fullmatch(line) is not None, 0
        elif within and not depth and rules.owns(text):
            depth = indent
        if depth:
            lines.texts[index] = line[min(indent, depth) :]


def preparation(platform: Platform, rule: SectionRule) -> Preparation:  # noqa: ARG001 - the same for all
    """Return what makes of a section's line what its template reads: without indentation, blanks collapsed."""
    comment = tuple(platform.patterns("comment"))

    def prepare(line: str) -> tuple[str, Disposition]:
        text = line.strip()
        if not text:
            return "", Disposition.BLANK
        if text.startswith(comment):
            return "", Disposition.COMMENT
        if text in BLOCK_ENDS:
            return "", Disposition.READ
        if "  " in text and not _CHOSEN.match(text):
            text = _BLANKS.sub(" ", text)
        return text, Disposition.READ

    return prepare


def _spacing(texts: list[str]) -> int:
    """Return how many blank lines stand below each line, and so mean nothing: one where a terminal has doubled them."""
    filled = sum(map(bool, texts))
    beside = sum(1 for above, below in pairwise(texts) if above and below)
    return int(filled > 1 and beside * 20 < filled)


class _Cutter:
    def __init__(self, lines: Lines, platform: Platform, rules: Rules) -> None:
        self.lines = lines
        self.rules = rules
        self.platform = platform
        self.comment = tuple(platform.patterns("comment"))
        self.noise = any_of(platform.patterns("noise"))
        self.prompt = any_of(platform.patterns("prompt"))
        self.script = any_of(platform.patterns("script"))
        self.literals = _Literals(platform.layout.literals)
        self.sections: list[Section] = []
        self.current: Section | None = None
        self.separated = True
        self.torn = False
        self.spacing = _spacing(lines.texts)
        self.block_end = platform.layout.block_end

    def run(self) -> list[Section]:
        kinds = self.lines.kinds
        kinds[:] = bytes([Disposition.BLANK]) * len(self.lines.texts)
        text = "\n".join([*self.lines.texts, ""])
        search = _token(self.comment).search
        number, end = 1, 0
        while token := search(text, end):
            if token.start() != end:
                blank = text.count("\n", end, token.start())
                number += blank
                self.separated = self.separated or blank > self.spacing
            line, block, stray, comments = token.groups()
            end = token.end()
            if line is not None:
                if self.margin(line, number):
                    end, number = self.literal(text, token.start(), number)
                    continue
                number += 1
            indented = block or stray
            if indented:
                opened = None if self.current and self.current.owner else self.literals.within(indented)
                if opened is not None:
                    end += opened - len(indented) - len(comments)
                    self.below(indented[:opened], number)
                    end, number = self.literal(text, end, number + indented.count("\n", 0, opened))
                    continue
                number = self.below(indented, number)
            if comments:
                count = comments.count("\n")
                kinds[number - 1 : number - 1 + count] = bytes([Disposition.COMMENT]) * count
                number += count
                self.separated = True
        return self.sections

    def literal(self, text: str, start: int, number: int) -> tuple[int, int]:
        """Skip text that is no configuration; return where it ends and the number of the line behind it."""
        end, delimiter = self.literals.end_of(text, start)
        if end is None:
            self.lines.problem = f"the text that begins in line {number} never ends: the capture is cut short"
            end = text.index("\n", start) + 1
        count = text.count("\n", start, end)
        if delimiter:
            self.lines.delimiters.update({number: delimiter, number + count - 1: delimiter})
        self.lines.kinds[number - 1 : number - 1 + count] = bytes([Disposition.LITERAL]) * count
        return end, number + count

    def below(self, block: str, number: int) -> int:
        """Give lines to the current section; return the number of the line behind them."""
        section = self.current
        if section is not None and section.owner is not None and self.block_end:
            block, strays = self.closed(section, block)
            if strays:
                return self.stray(section, block, strays, number)
        count = block.count("\n")
        if section is None or section.owner is None:
            disposition = section.disposition if section else Disposition.OUTSIDE
            self.lines.kinds[number - 1 : number - 1 + count] = bytes([disposition]) * count
        if section is not None:
            section.append(block, number, count)
        return number + count

    def closed(self, section: Section, block: str) -> tuple[str, str]:
        """Return the lines of a block up to the one that ends it, and those below that, which belong nowhere."""
        depth = len(block) - len(block.lstrip())
        if section.body or not depth:
            return block, ""
        end = re.search(rf"^[ \t]{{1,{depth}}}{self.block_end}[ \t]*\n", block, re.MULTILINE)
        return (block[: end.end()], block[end.end() :]) if end else (block, "")

    def stray(self, section: Section, block: str, strays: str, number: int) -> int:
        """Take a block with lines below its end; those but further ends are not understood."""
        section.append(block, number, block.count("\n"))
        number += block.count("\n")
        for line in strays.splitlines():
            ended = line.strip() in ("", self.block_end)
            self.lines.kinds[number - 1] = Disposition.READ if ended else Disposition.NOT_UNDERSTOOD
            number += 1
        return number

    def margin(self, line: str, number: int) -> bool:
        """Take a line at the margin; return whether text that is no configuration begins with it."""
        kinds = self.lines.kinds
        if line in BLOCK_ENDS and not self.script.fullmatch(line):
            read = self.current is not None and self.current.owner is not None
            kinds[number - 1] = Disposition.READ if read else Disposition.OUTSIDE
            self.current = None
            return False
        header = _BLANKS.sub(" ", line) if "  " in line and not _CHOSEN.match(line) else line
        section = self.rules.open(header, number)
        if section.owner is None or self.in_its_mode(line):
            if self.continues(line, number):
                self.below(line + "\n", number)
                return False
            if self.literals.begin(line):
                self.current = None
                return True
            if self.prompt.match(line):
                kinds[number - 1] = Disposition.NOISE
                self.current = None
                return False
            if self.noise.match(line):
                kinds[number - 1] = Disposition.NOISE
                self.torn = True
                return False
            if self.script.fullmatch(line):
                self.lines.refuse_script([number])
                return False
        self.current = section
        kinds[number - 1] = section.disposition
        self.separated = self.torn = False
        self.sections.append(section)
        return False

    def in_its_mode(self, line: str) -> bool:
        """Return whether a line is one of the section right above, where nothing of that is indented.

        It might open one, too; devices try the mode that they are in first.
        """
        section = self.current
        if section is None or section.owner is None or self.separated or section.body.startswith((" ", "\t")):
            return False
        return section.owner.flat_line.fullmatch(line) is not None

    def continues(self, line: str, number: int) -> bool:
        """Return whether a line at the margin that opens nothing belongs to the section above all the same.

        It does where a pager or a message in the middle has torn it off, or where it is of a kind that may stand
        there; but never what looks like a prompt or another message.
        """
        owner = self.current.owner if self.current else None
        if owner is None or self.prompt.match(line) or self.noise.match(line):
            return False
        if number in self.lines.loose or (self.torn and not self.separated):
            return True
        return not self.separated and owner.flat_line.fullmatch(line) is not None


class _Literals:
    """Finds text that is no configuration: banners at the margin, certificates within sections that are not read."""

    def __init__(self, literals: dict[str, str]) -> None:
        self._literals = [(re.compile(opens), closes) for opens, closes in literals.items()]
        opens = "|".join(f"(?:{opens})" for opens in literals)
        self._opens = re.compile(f"^(?:{re.sub(r'[?]P<[a-z]+>', '?:', opens)})" if literals else r"(?!)", re.MULTILINE)

    def begin(self, line: str) -> bool:
        """Return whether such text begins with this line."""
        return self._opens.match(line) is not None

    def within(self, block: str) -> int | None:
        """Return where in a block of lines such text begins."""
        found = self._opens.search(block)
        return found.start() if found else None

    def end_of(self, text: str, start: int) -> tuple[int | None, str]:
        """Return where the text that begins here ends, ``None`` if it never does, and its delimiter, if it has one."""
        for opens, closes in self._literals:
            if match := opens.match(text, start):
                end = match.groupdict().get("end") or ""
                closed = re.compile(closes.replace("{end}", re.escape(end)), re.MULTILINE).search(text, match.end())
                return text.index("\n", closed.end()) + 1 if closed else None, end
        return None, ""
