r"""Nested blocks: statements that belong where they are nested, whether braces, words or whole paths say so.

Each statement becomes one line of words, those of the blocks around it first: ``vlans { staff { vlan-id 10; } }`` and
``set vlans staff vlan-id 10`` are both ``vlans staff vlan-id 10``. The rule whose ``opens`` matches the most of its
first words owns it; the rest is a line of that section, wherever in the text it stands. A blank inside a word is held
as one sign until the value has a type (``fields.HELD_BLANK``), so that ``\S+`` is always one word.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from auditor.platforms.definition import Platform, any_of
from auditor.reading.layouts import tree_text
from auditor.reading.layouts.tree_text import Statement, TreeBlock, WordPath
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_MOST_WORDS = 64
"""Of how many words the beginning of a statement is at most that a rule can own."""


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut a text into one section for each thing that a rule owns, and account for every line."""
    parser = tree_text.PARSERS[platform.layout.kind](lines, platform)
    parser.run()
    return _Grouping(lines, platform, rules, parser.switched_off).run(parser.statements, parser.blocks)


@dataclass(slots=True)
class _Grouping:
    """Gives statements to the sections that own them."""

    lines: Lines
    platform: Platform
    rules: Rules
    switched_off: list[Statement]
    sections: list[Section] = field(default_factory=list)
    _by_path: dict[WordPath, Section | None] = field(default_factory=dict)
    _around: set[WordPath] = field(default_factory=set)

    def run(self, statements: list[Statement], blocks: list[TreeBlock]) -> list[Section]:
        outer = any_of(self.platform.layout.outer)
        dispositions: list[tuple[int, Disposition]] = []
        for statement in statements:
            start = _inside(statement.words, outer)
            words = statement.words[start:]
            section, used = self._owner(words, start, statement)
            if section is None:
                section = self.rules.open(" ".join(words), statement.number)
                self.sections.append(section)
            disposition = section.disposition
            if section.owner and not self._off(statement):
                self._imply(words, start, used, statement)
            if self._off(statement):
                disposition = Disposition.HARMLESS if disposition == Disposition.READ else disposition
            elif section.owner and used < len(words):
                if words[used] in section.owner.rule.lists:
                    for word in words[used + 1 :]:
                        section.add(f"{words[used]} {word}", statement.number)
                else:
                    section.add(" ".join(words[used:]), statement.number)
            dispositions += [(number, disposition) for number in statement.numbers]
            block = statement.block
            while block and block.disposition < min(disposition, Disposition.READ):
                block.disposition = min(disposition, Disposition.READ)
                block = block.parent
        for block in blocks:
            dispositions += [(number, block.disposition) for number in block.numbers]
        told: dict[int, Disposition] = {}
        for number, disposition in dispositions:
            told[number] = max(disposition, told.get(number, Disposition.UNSEEN))
        for number, disposition in told.items():
            self.lines.mark(number, disposition)
        return self.sections + self._inactive(statements, blocks, outer)

    def _inactive(self, statements: list[Statement], blocks: list[TreeBlock], outer: re.Pattern[str]) -> list[Section]:
        """Return a section, which no rule owns, for each thing that is switched off: its first line says only that."""
        off = [(b.path, b.numbers[0]) for b in blocks if b.off and not (b.parent and b.parent.off)]
        off += [(s.words, s.number) for s in statements if s.off and not (s.block and s.block.off)]
        off += [(s.words, s.number) for s in self.switched_off]
        return [
            self.rules.open(f"{tree_text.INACTIVE} {' '.join(path[_inside(path, outer) :])}", number)
            for path, number in off
        ]

    def _owner(self, words: WordPath, start: int, statement: Statement) -> tuple[Section | None, int]:
        """Return the section of the longest beginning of a statement that a rule owns, and how many words that is.

        ``start``: how many words stand around it; what is called the same in two of such blocks is not the same.
        """
        off = self._off(statement)
        for used in range(min(len(words), _MOST_WORDS), 0, -1):
            path = statement.words[: start + used]
            known = self._by_path.get(path)
            if known is None and path not in self._by_path:
                header = " ".join(words[:used])
                if self.rules.owns(header):
                    if off:
                        return self.rules.open(header, 0), used
                    known = self.rules.open(header, _opened_at(statement, start + used))
                    known.around = " ".join(statement.words[:start])
                    self.sections.append(known)
                self._by_path[path] = known
            if known is not None:
                return known, used
        return None, 0

    def _imply(self, words: WordPath, start: int, used: int, statement: Statement) -> None:
        """Open the sections around one that are there though no line may be their own."""
        for count in range(used - 1, 0, -1):
            path = statement.words[: start + count]
            if path in self._around:
                return
            self._around.add(path)
            if self._by_path.get(path) is None:
                section = self.rules.open(" ".join(words[:count]), _opened_at(statement, start + count))
                if section.owner and section.owner.rule.implied:
                    self.sections.append(section)
                    self._by_path[path] = section

    def _off(self, statement: Statement) -> bool:
        """Return whether a statement, or what it stands in, is switched off as if it were not there."""
        return statement.off or any(statement.words[: len(s.words)] == s.words for s in self.switched_off)


def _inside(words: WordPath, outer: re.Pattern[str]) -> int:
    """Return how many words of a statement are those of the blocks around everything."""
    match = outer.match(" ".join(words) + " ")
    return match[0].count(" ") if match else 0


def _opened_at(statement: Statement, used: int) -> int:
    """Return the line that says the first so many words of a statement: that of their block, or its own."""
    block = statement.block
    while block:
        if len(block.path) == used:
            return block.numbers[0]
        block = block.parent
    return statement.number
