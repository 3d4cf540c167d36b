"""A device whose configuration is tables: ``config`` enters a block, ``edit`` an entry of it, ``set`` changes a value.

Rules (patterns for all of a text; a path is the words of the blocks around, names of entries as ``*``):
    known: by pattern of paths, the words that can be set there; anything else fails.
    entries: patterns of paths whose entries can be made and deleted.
    silent: ``path word value`` that is not printed, because the device has it where nothing is said.
    drops: by ``path word value``, the word or block beside it that goes with it.
    joins: by pattern of paths, the table whose entry of the same name goes when one is made there, and comes back when
        it is deleted, with the line that is given.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any


def applied(files: dict[str, str], commands: list[str], rules: dict[str, Any]) -> dict[str, str]:
    """Return the files after some commands."""
    ((name, text),) = files.items()
    device = _Device(text, rules)
    for line in commands:
        device.take(_words(line))
    assert len(device.within) == 1, "a block was not left"
    return {name: "\n".join(device.root.lines(0)) + "\n"}


@dataclass
class _Block:
    """A block or an entry: ``opening`` and ``closing`` line, and in it lines of text and further blocks."""

    opening: str
    closing: str
    below: list[_Block | str] = field(default_factory=list)

    @property
    def name(self) -> str:
        return " ".join(_words(self.opening)[1:])

    def lines(self, depth: int) -> list[str]:
        found = [f"{'    ' * depth}{self.opening}"] if self.opening else []
        for part in self.below:
            found += part.lines(depth + bool(self.opening)) if isinstance(part, _Block) else [part]
        return found + ([f"{'    ' * depth}{self.closing}"] if self.closing else [])

    def child(self, name: str) -> _Block | None:
        return next((part for part in self.below if isinstance(part, _Block) and part.name == name), None)

    def drop(self, word: str) -> None:
        """Take out what is set, or the block, of that name."""
        self.below = [
            part
            for part in self.below
            if (part.name != word if isinstance(part, _Block) else _words(part)[:2] != ["set", word])
        ]


class _Device:
    def __init__(self, text: str, rules: dict[str, Any]) -> None:
        self.rules = rules
        self.root = _read(text)
        self.within = [self.root]

    @property
    def path(self) -> str:
        return " ".join("*" if block.closing == "next" else block.name for block in self.within[1:])

    def any_of(self, name: str, text: str) -> bool:
        return any(re.fullmatch(pattern, text) for pattern in self.rules[name])

    def take(self, words: list[str]) -> None:
        """Carry out a command."""
        here = self.within[-1]
        match words:
            case ["end" | "next"]:
                assert here.closing == words[0], words
                self.within.pop()
            case ["config", *name]:
                self.enter(f"config {' '.join(name)}", "end", " ".join(name))
            case ["edit", name]:
                assert self.any_of("entries", self.path), (self.path, words)
                self.join(name, made=here.child(name) is None)
                self.enter(f"edit {_quoted(name)}", "next", name)
            case ["delete", name]:
                assert self.any_of("entries", self.path), (self.path, words)
                if here.child(name):
                    self.join(name, made=False)
                here.below = [part for part in here.below if part != here.child(name)]
            case ["unset", word]:
                self.check(word)
                here.drop(word)
            case ["set", word, *values] if values:
                self.check(word)
                self.set(word, values)
            case ["append" | "unselect", word, value]:
                self.check(word)
                lines = [_words(part) for part in here.below if isinstance(part, str)]
                held = next((line[2:] for line in lines if line[:2] == ["set", word]), [])
                held = [each for each in held if each != value]
                self.set(word, [*held, value] if words[0] == "append" else held)
            case _:
                raise AssertionError(words)

    def check(self, word: str) -> None:
        """Fail where a word cannot be set."""
        known = [words for pattern, words in self.rules["known"].items() if re.fullmatch(pattern, self.path)]
        assert any(re.fullmatch(each, word) for words in known for each in words), (self.path, word)

    def set(self, word: str, values: list[str]) -> None:
        here = self.within[-1]
        here.drop(word)
        said = f"{self.path} {word} {' '.join(values)}"
        for pattern, gone in self.rules["drops"].items():
            if re.fullmatch(pattern, said):
                here.drop(gone)
        if values and not self.any_of("silent", said):
            depth = 4 * (len(self.within) - 1)
            here.below.insert(0, f"{' ' * depth}set {word} {' '.join(map(_quoted, values))}")

    def enter(self, opening: str, closing: str, name: str) -> None:
        here = self.within[-1]
        there = here.child(name)
        if there is None:
            there = _Block(opening, closing)
            # the last block of all is how a whole capture is known
            here.below.insert(len(here.below) - 1 if here is self.root else len(here.below), there)
        self.within.append(there)

    def join(self, name: str, *, made: bool) -> None:
        """Take the entry of the same name out of another table, or put it back there."""
        for pattern, (table, line) in self.rules["joins"].items():
            if not re.fullmatch(pattern, self.path):
                continue
            other = self.root.child(table)
            assert other is not None
            other.below = [part for part in other.below if part != other.child(name)]
            if not made and self.within[-1].child(name):
                other.below.append(_Block(f"edit {_quoted(name)}", "next", [f"        {line}"]))


def _read(text: str) -> _Block:
    """Cut a text into blocks; a value that goes on over lines is one piece of text."""
    root = _Block("", "")
    within = [root]
    for line in re.findall(r'(?:[^"\n\\]|\\.|"(?:[^"\\]|\\.)*")+', text, re.DOTALL):
        words = line.split()
        if words[:1] in (["config"], ["edit"]):
            block = _Block(line.strip(), "end" if words[0] == "config" else "next")
            within[-1].below.append(block)
            within.append(block)
        elif words in (["end"], ["next"]):
            assert within.pop().closing == words[0]
        elif words and len(within) == 1 and not line.startswith("#"):
            continue
        elif words:
            within[-1].below.append(line)
    assert len(within) == 1
    return root


def _words(line: str) -> list[str]:
    """Return the words of a line, out of their quotes."""
    return [
        re.sub(r"\\(.)", r"\1", match[1]) if match[1] is not None else match[0]
        for match in re.finditer(r'"((?:[^"\\]|\\.)*)"|\S+', line, re.DOTALL)
    ]


def _quoted(word: str) -> str:
    if re.fullmatch(r"[\w.:/-]+", word):
        return word
    return '"' + re.sub(r'(["\\])', r"\\\1", word) + '"'
