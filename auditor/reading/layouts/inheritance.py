"""Statements that are written once in a named group and hold wherever the group is applied, as if they stood there.

What a statement of a group says holds below the place that applies it; a word in angle brackets stands for each name
of that shape that is there already. What stands there itself is worth more than a group, a group that is applied
deeper more than one applied around it, and of two in one place the first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from fnmatch import fnmatchcase
from typing import Any

from auditor.platforms.definition import GroupWord
from auditor.reading.layouts.tree_text import Statement, WordPath

_DEEPEST = 8
"""How many groups are followed that apply each other."""


_Words = dict[str, Any]
"""The words that follow a word, in all statements, each with those that follow it."""


class Inheritance:
    """Finds what statements hold by groups.

    Attributes:
        own: the statements that stand where they hold, those that nothing here knows among them.
        applying: those that apply a group, or keep one away.
        unused: those of groups that hold nowhere.

    Args:
        statements: all statements.
        words: what layout.inherits in platform.yaml says.
        off: whether a statement is switched off.
    """

    def __init__(
        self, statements: list[Statement], words: Mapping[GroupWord, str], off: Callable[[Statement], bool]
    ) -> None:
        self._apply, self._except, self._range = words["apply"], words["except"], words["range"]
        self.own: list[Statement] = []
        self.applying: list[Statement] = []
        self.unused: list[Statement] = []
        self._groups: dict[str, list[Statement]] = {}
        self._kept_away: set[tuple[WordPath, str]] = set()
        self._tree: _Words = {}
        mine: list[Statement] = []
        for statement in statements:
            if statement.words[0] != words["groups"] or len(statement.words) < 3:
                mine.append(statement)
            elif re.fullmatch(words["apart"], statement.words[1]):
                self.own.append(statement)
            elif off(statement):
                self.unused.append(statement)
            else:
                self._groups.setdefault(statement.words[1], []).append(statement)
        for statement in mine:
            verb, name = statement.words[-2:] if len(statement.words) > 1 else ("", "")
            if verb == self._except and name in self._groups and not off(statement):
                self._kept_away.add((statement.words[:-2], name))
                self.applying.append(statement)
            elif verb == self._apply and name in self._groups and not off(statement):
                self.applying.append(statement)
            else:
                self.own.append(statement)
                if not off(statement):
                    self._add(statement.words)

    def inherited(self) -> list[Statement]:
        """Return what holds by groups, what is worth more before what is worth less."""
        found: list[Statement] = []
        used: set[int] = set()
        applied = [s.words for s in self.applying if s.words[-2] == self._apply]
        waiting = [(words[:-2], words[-1], 0) for words in sorted(applied, key=len, reverse=True)]
        while waiting:
            place, name, depth = waiting.pop(0)
            for told in self._groups.get(name, ()):
                for words in self._expanded(told.words[2:], place):
                    if any((words[:count], name) in self._kept_away for count in range(len(words))):
                        continue
                    used.add(id(told))
                    if len(words) > 1 and words[-2] == self._apply and words[-1] in self._groups:
                        if depth < _DEEPEST:
                            waiting.insert(0, (words[:-2], words[-1], depth + 1))
                        continue
                    found.append(Statement(words, told.number, told.block, numbers=told.numbers, shift=2))
        self.unused += [told for group in self._groups.values() for told in group if id(told) not in used]
        for statement in found:
            self._add(statement.words)
        return found

    def _add(self, words: WordPath) -> None:
        node = self._tree
        for word in words:
            node = node.setdefault(word, {})

    def _at(self, words: WordPath) -> _Words:
        node = self._tree
        for word in words:
            node = node.get(word, {})
        return node

    def _expanded(self, words: WordPath, place: WordPath) -> Iterator[WordPath]:
        """Yield the statements, below a place, that a statement of a group stands for."""
        begun: WordPath = ()
        while len(begun) < len(place):
            if not words:
                return
            name = place[len(begun)]
            if name == self._range and words[0] != name and len(place) > len(begun) + 1:
                name = place[len(begun) + 1]
                if not (_shape(words[0]) and self._of_range(begun, name, words[0])):
                    return
                begun = (*begun, self._range, name)
            elif words[0] == name or (_shape(words[0]) and fnmatchcase(name, words[0][1:-1])):
                begun = (*begun, name)
            else:
                return
            words = words[1:]
        if words:
            yield from self._below(begun, words)

    def _below(self, begun: WordPath, words: WordPath) -> Iterator[WordPath]:
        if not words:
            yield begun
            return
        if not _shape(words[0]):
            yield from self._below((*begun, words[0]), words[1:])
            return
        there = self._at(begun)
        for name in list(there):
            if name == self._range:
                for one in list(there[name]):
                    if self._of_range(begun, one, words[0]):
                        yield from self._below((*begun, name, one), words[1:])
            elif name not in (self._apply, self._except) and fnmatchcase(name, words[0][1:-1]):
                yield from self._below((*begun, name), words[1:])

    def _of_range(self, begun: WordPath, name: str, shape: str) -> bool:
        """Return whether a range of names has some of a shape, or may have."""
        said = self._at((*begun, self._range, name))
        listed = [names for word, names in said.items() if word.startswith("member")]
        ends = [end for names in listed for first, after in names.items() for end in (first, *after.get("to", ()))]
        return any(fnmatchcase(end, shape[1:-1]) or re.search(r"[*\[]", end) is not None for end in ends)


def _shape(word: str) -> bool:
    return word.startswith("<") and word.endswith(">")
