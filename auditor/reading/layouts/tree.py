r"""Nested blocks: statements that belong where they are nested, whether braces, words or whole paths say so.

Each statement becomes one line of words, those of the blocks around it first: ``vlans { staff { vlan-id 10; } }`` and
``set vlans staff vlan-id 10`` are both ``vlans staff vlan-id 10``. The rule whose ``opens`` matches the most of its
first words owns it; the rest is a line of that section, wherever in the text it stands. A blank inside a word is held
as one sign until the value has a type (``fields.HELD_BLANK``), so that ``\S+`` is always one word.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from auditor.platforms.definition import Platform, any_of
from auditor.reading.fields import freed
from auditor.reading.layouts import tree_text
from auditor.reading.layouts.inheritance import Inheritance
from auditor.reading.layouts.tree_text import Statement, TreeBlock, WordPath
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_MOST_WORDS = 64
"""Of how many words the beginning of a statement is at most that a rule can own."""


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut a text into one section for each thing that a rule owns, and account for every line."""
    parser = tree_text.PARSERS[platform.layout.kind](lines, platform)
    parser.run()
    if platform.layout.outer and not lines.problem:
        lines.problem = _part_missing(lines, platform, parser.blocks)
    return _Grouping(lines, platform, rules, parser.switched_off).run(parser.statements, parser.blocks)


@dataclass(slots=True)
class _Grouping:
    """Gives statements to the sections that own them."""

    lines: Lines
    platform: Platform
    rules: Rules
    switched_off: list[Statement]
    sections: list[Section] = field(default_factory=list)
    _by_groups: list[Section] = field(default_factory=list)
    _dispositions: list[tuple[int, Disposition]] = field(default_factory=list)
    _by_path: dict[WordPath, Section | None] = field(default_factory=dict)
    _around: set[WordPath] = field(default_factory=set)
    _off_paths: set[WordPath] = field(default_factory=set)
    _off_elsewhere: dict[int, set[WordPath]] = field(default_factory=dict)

    def run(self, statements: list[Statement], blocks: list[TreeBlock]) -> list[Section]:
        outer = any_of(self.platform.layout.outer)
        for each in self.switched_off:
            self._off_elsewhere.setdefault(len(each.words), set()).add(each.words)
        self._off_paths = {block.path for block in blocks if block.off} | {s.words for s in statements if s.off}
        for statement, inherited in self._in_order(statements):
            start = _inside(statement.words, outer)
            if start < len(statement.words):
                self._take(statement, start, inherited=inherited)
            else:
                self._account(statement, Disposition.HARMLESS)
        for block in blocks:
            self._dispositions += [(number, block.disposition) for number in block.numbers]
        told: dict[int, Disposition] = {}
        for number, disposition in self._dispositions:
            told[number] = max(disposition, told.get(number, Disposition.UNSEEN))
        for number, disposition in told.items():
            self.lines.mark(number, disposition)
        return [*reversed(self._by_groups), *self.sections, *self._inactive(statements, blocks, outer)]

    def _in_order(self, statements: list[Statement]) -> Iterator[tuple[Statement, bool]]:
        """Yield the statements that stand where they hold, then those that hold by groups."""
        words = self.platform.layout.inherits
        if not words or not any(statement.words[0] == words["groups"] for statement in statements):
            yield from ((statement, False) for statement in statements)
            return
        found = Inheritance(statements, words, self._off)
        for statement in found.applying:
            self._container(statement)
        yield from ((statement, False) for statement in found.own)
        yield from ((statement, True) for statement in found.inherited())
        for statement in found.applying:
            self._account(statement, Disposition.READ)
        for statement in found.unused:
            self._account(statement, Disposition.HARMLESS)

    def _container(self, applying: Statement) -> None:
        """What applies a group is there, though nothing else may stand in it."""
        words = applying.words[:-2]
        if words and self._owner(words, 0, Statement(words, applying.number, applying.block), self.sections)[0]:
            self._take(Statement(words, applying.number, applying.block), 0, inherited=False)

    def _take(self, statement: Statement, start: int, *, inherited: bool) -> None:
        """Give a statement to the section that owns it; what holds by a group comes before what stands there itself."""
        off = self._off(statement)
        if inherited and (
            off or any(statement.words[:count] in self._off_paths for count in range(len(statement.words)))
        ):
            # nothing tells whether a group switches on what is switched off in the place itself
            header = " ".join(statement.words[start:])
            self._by_groups.append(Section(header, statement.number, disposition=Disposition.NOT_UNDERSTOOD))
            self._account(statement, Disposition.NOT_UNDERSTOOD)
            return
        if inherited:
            self.lines.inherited.update(statement.numbers)
            block = statement.block
            while block:
                self.lines.inherited.add(block.numbers[0])
                block = block.parent
        words = statement.words[start:]
        sections = self._by_groups if inherited else self.sections
        section, used = self._owner(words, start, statement, sections)
        if section is None:
            section = self.rules.unowned(" ".join(words), statement.number)
            if off:
                section.told = None
            sections.append(section)
        disposition = section.disposition
        if section.owner and not off:
            self._imply(words, start, used, statement)
        if off:
            disposition = min(disposition, Disposition.HARMLESS)
        elif section.owner and used < len(words):
            if words[used] in section.owner.rule.lists:
                for word in words[used + 1 :]:
                    section.add(f"{words[used]} {word}", statement.number)
            else:
                section.add(" ".join(words[used:]), statement.number, first=inherited)
        self._account(statement, disposition)

    def _account(self, statement: Statement, disposition: Disposition) -> None:
        self._dispositions += [(number, disposition) for number in statement.numbers]
        block = statement.block
        while block and block.disposition < min(disposition, Disposition.READ):
            block.disposition = min(disposition, Disposition.READ)
            block = block.parent

    def _inactive(self, statements: list[Statement], blocks: list[TreeBlock], outer: re.Pattern[str]) -> list[Section]:
        """Return a section, which no rule owns, for each thing that is switched off: its first line says only that."""
        off = [(b.path, b.numbers[0]) for b in blocks if b.off and not (b.parent and b.parent.off)]
        off += [(s.words, s.number) for s in statements if s.off and not (s.block and s.block.off)]
        off += [(s.words, s.number) for s in self.switched_off]
        return [
            self.rules.open(f"{tree_text.INACTIVE} {' '.join(path[_inside(path, outer) :])}", number)
            for path, number in off
        ]

    def _owner(
        self, words: WordPath, start: int, statement: Statement, sections: list[Section]
    ) -> tuple[Section | None, int]:
        """Return the section of the longest beginning of a statement that a rule owns, and how many words that is.

        ``start``: how many words stand around it; what is called the same in two of such blocks is not the same.
        ``sections``: where a new one belongs.
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
                    sections.append(known)
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
        """Return whether a statement is as if it were not there: replaced, or switched off with what it stands in."""
        if statement.off or statement.replaced:
            return True
        return any(statement.words[:count] in paths for count, paths in self._off_elsewhere.items())


def _part_missing(lines: Lines, platform: Platform, blocks: list[TreeBlock]) -> str:
    """Return which of the blocks around everything is not there, or holds nothing; empty where all are."""
    filled: dict[str, bool] = {}
    for kind in platform.layout.outer:
        pattern, before = any_of([kind]), len(filled)
        for block in blocks:
            name = " ".join(block.path)
            if pattern.fullmatch(name + " "):
                filled[name] = filled.get(name, False) or block.filled
        if len(filled) == before:
            filled[kind.split()[0]] = False
    said = any_of(platform.patterns("outer"))
    there = any(filled.values()) or any(said.fullmatch(text.strip()) for text in lines.texts)
    missing = [freed(name) for name, found in filled.items() if not found] if there else []
    names = ", ".join(f'"{name}"' for name in missing)
    return f"it holds only a part of the configuration, and nothing of {names}: save the whole" if names else ""


def _inside(words: WordPath, outer: re.Pattern[str]) -> int:
    """Return how many words of a statement are those of the blocks around everything."""
    match = outer.match(" ".join(words) + " ")
    return match[0].count(" ") if match else 0


def _opened_at(statement: Statement, used: int) -> int:
    """Return the line that says the first so many words of a statement: that of their block, or its own."""
    block = statement.block
    while block:
        if len(block.path) == used + statement.shift:
            return block.numbers[0]
        block = block.parent
    return statement.number
