"""Blocks by indentation: a line at the margin opens a section, indented lines below belong to it."""

from __future__ import annotations

import re

from auditor.platforms.definition import LiteralText, Platform, any_of
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Kind, Lines

_BLANKS = re.compile(r"(?<=\S)[ \t]{2,}")


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut a text into sections and account for every line that is in none."""
    return _Cutter(lines, platform, rules).run()


class _Cutter:
    def __init__(self, lines: Lines, platform: Platform, rules: Rules) -> None:
        layout = platform.layout
        self.lines = lines
        self.rules = rules
        self.comment = tuple(layout.comment)
        self.closes = frozenset(layout.closes)
        self.verbatim = any_of(layout.verbatim)
        self.literals = _Literals(layout.literals, lines.texts)
        self.noise = any_of([*platform.noise, platform.prompt])
        self.script = any_of(platform.scripts)
        self.sections: list[Section] = []
        self.current: Section | None = None
        self.separated = True

    def run(self) -> list[Section]:
        kinds = self.lines.kinds
        comment, closes, literals = self.comment, self.closes, self.literals
        for number, line in enumerate(self.lines.texts, 1):
            if not line:
                kinds[number - 1] = Kind.BLANK
                self.separated = True
            elif literals.any and literals.hold(line):
                kinds[number - 1] = Kind.LITERAL
            elif line[0] in " \t":
                text = line.lstrip()
                if text.startswith(comment):
                    kinds[number - 1] = Kind.COMMENT
                elif self.current is None:
                    kinds[number - 1] = Kind.UNAUDITED
                elif text in closes:
                    kinds[number - 1] = self.current.fate
                else:
                    self.body(text, number)
            else:
                self.margin(line, number)
        return self.sections

    def body(self, text: str, number: int) -> None:
        """Add a line to the current section."""
        assert self.current is not None
        self.lines.kinds[number - 1] = self.current.fate
        self.current.lines.append(text if "  " not in text else self.collapsed(text))
        self.current.numbers.append(number)

    def collapsed(self, text: str) -> str:
        listing = self.current and self.current.owner and self.current.owner.rule.listing
        return text if listing or self.verbatim.match(text) else _BLANKS.sub(" ", text)

    def margin(self, line: str, number: int) -> None:
        kinds = self.lines.kinds
        if line.startswith(self.comment):
            kinds[number - 1] = Kind.COMMENT
            self.separated = True
        elif line in self.closes:
            kinds[number - 1] = self.current.fate if self.current else Kind.UNAUDITED
            self.current = None
        elif self.continues(line, number):
            self.body(line, number)
        elif self.noise.match(line):
            kinds[number - 1] = Kind.NOISE
        elif self.script.fullmatch(line):
            self.lines.refuse_script([number])
        else:
            header = _BLANKS.sub(" ", line) if "  " in line and not self.verbatim.match(line) else line
            self.current = self.rules.open(header, number)
            kinds[number - 1] = self.current.fate
            self.separated = False
            self.sections.append(self.current)

    def continues(self, line: str, number: int) -> bool:
        """Return whether a line at the margin belongs to the section above all the same."""
        owner = self.current.owner if self.current else None
        if owner is None:
            return False
        if owner.rule.listing:
            return owner.flat_line.fullmatch(line) is not None
        if number not in self.lines.loose and (self.separated or not owner.flat_line.fullmatch(line)):
            return False
        return not self.rules.owns(line)


class _Literals:
    """Follows text that is no configuration from the line that opens it to the line that closes it."""

    def __init__(self, literals: list[LiteralText], texts: list[str]) -> None:
        self._openers = [(re.compile(literal.opens), literal.closes) for literal in literals]
        self._until: re.Pattern[str] | None = None
        whole = (
            re.compile("|".join(f"^(?:{literal.opens})" for literal in literals), re.MULTILINE) if literals else None
        )
        self.any = bool(whole and whole.search("\n".join(texts)))

    def hold(self, line: str) -> bool:
        """Return whether the line belongs to such a text."""
        if self._until is not None:
            if self._until.search(line):
                self._until = None
            return True
        for opens, closes in self._openers:
            match = opens.match(line)
            if match:
                end = re.escape(match.groupdict().get("end") or "")
                until = re.compile(closes.replace("{end}", end))
                if not (end and until.search(line[match.end() :])):
                    self._until = until
                return True
        return False
