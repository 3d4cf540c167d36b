"""A device whose configuration is blocks by indentation: a line enters a block, lines below it change what is there.

Rules (patterns are for the beginning of a line, whatever its case):
    sections: lines at the margin that enter a block; a block that is not there is made.
    inner: lines that enter a block within a block.
    replaces: statements of which there is one: what the pattern matches is its name, and a new one takes its place.
    writes_no: statements whose ``no`` form stands in the configuration, because they are there by themselves.
    alone: statements that ``no`` takes away without those that begin with the same words.
    silent: statements that restore what the device comes with, and leave no line.
    flat: blocks whose lines stand at the margin until ``exit``, or what ``closes`` says.
    closes: the line that ends each block.
    joins: statements that put a port into VLANs or, with ``no``, take it out; see ``port_vlans``.
    vlan_ports: whether VLANs list their ports; see ``vlan_ports``.
    forgets: by the beginning of a statement, what else it takes out of its block.
    vlan_lists: whether the first line of a VLAN's block may name several.
    lists: statements that hold a list of VLANs, which is changed by ``add`` and ``remove``; see ``memberships``;
        adds: those that a plain list is added to, and that ``no`` takes from;
        lists_old: what a configuration holds in which such a list stands for none until something is added.
    words: statements of one line that holds several words, each taken away and added by itself.
    indent: how deep the lines of a new block stand; end: the line before which a new block is put.
    before: patterns of blocks that a new line at the margin of the same pattern is put before.
    listings: names of files that tell which VLANs there are; see ``listing``. main: the file that is the configuration.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from tests.corrections.appliers import memberships, port_vlans, vlan_ports
from tests.corrections.appliers.listing import Listing


def applied(files: dict[str, str], commands: list[str], rules: dict[str, Any]) -> dict[str, str]:
    """Return the files after some commands."""
    main = next(name for name in files if len(files) == 1 or name.rpartition("/")[2] in rules["main"])
    tables = {
        name: Listing(text) for name, text in files.items() if name.rpartition("/")[2] in rules.get("listings", ())
    }
    device = _Device(files[main], rules)
    within: list[tuple[int, _Node]] = [(-1, device.root)]
    for line in vlan_ports.each_port(commands) if rules.get("vlan_ports") else commands:
        text = line.strip()
        depth = len(line) - len(line.lstrip())
        while within[-1][0] >= depth:
            within.pop()
        if not any(table.take(text, deeper=depth > 0) for table in tables.values()):
            entered = device.take(within[-1][1], text)
            if entered is not None:
                within.append((depth, entered))
    return {**files, main: device.text(), **{name: table.text() for name, table in tables.items()}}


@dataclass
class _Node:
    """A line and the lines below it; ``literal`` text is kept as it is, and no command finds it."""

    line: str
    below: list[_Node] = field(default_factory=list)
    literal: bool = False

    @property
    def text(self) -> str:
        return "" if self.literal else self.line.strip()

    def lines(self) -> list[str]:
        return [self.line, *(line for node in self.below for line in node.lines())]

    def without(self, unwanted: Any) -> None:
        self.below = [node for node in self.below if not unwanted(node.text)]


class _Device:
    def __init__(self, text: str, rules: dict[str, Any]) -> None:
        self.rules = rules
        self.old = re.search(rules.get("lists_old", "(?!)"), text) is not None
        self.root = _Node("", _tree(text, rules))
        _unroll(self.root)

    def text(self) -> str:
        return "\n".join(self.root.lines()[1:]) + "\n"

    def matches(self, name: str, text: str) -> re.Match[str] | None:
        """Return the match of the first of some patterns with the beginning of a line."""
        found = (re.match(pattern, text, re.IGNORECASE) for pattern in self.rules.get(name, ()))
        return next((match for match in found if match), None)

    def take(self, block: _Node, text: str) -> _Node | None:
        """Carry out a command within a block; return the block that it enters."""
        if text == "exit":
            return None
        if self.rules.get("vlan_lists") and (vlan := re.fullmatch(r"(no )?vlan (\d+)", text)):
            self.vlan(block, int(vlan[2]), gone=bool(vlan[1]))
            return None if vlan[1] or _same(block.text, "vlan database") else self.enter(block, text)
        if self.rules.get("vlan_ports") and vlan_ports.take(block.text, text, self):
            return None
        negated = re.sub("^(no|default) ", "", text)
        if self.opens(block, text):
            return self.enter(block, text)
        if text != negated and self.opens(block, negated):
            block.without(lambda line: _same(line, negated))
        elif (statement := self.matches("lists", text)) is not None:
            new = lambda line: self.line(block, line)  # noqa: E731 - as short as what it stands for
            memberships.change(statement[0], text, block.below, new, old=self.old)
        elif (statement := self.matches("adds", negated)) is not None:
            self.forget(block, text)
            new = lambda line: self.line(block, line)  # noqa: E731 - as short as what it stands for
            memberships.add(statement[0], text, block.below, new)
        elif (joins := self.matches("joins", negated)) is not None:
            port_vlans.change(joins[0], text, block.below, lambda line: self.line(block, line))
        elif (statement := self.matches("words", negated)) is not None:
            self.word(block, statement[0], negated.removeprefix(statement[0]), gone=text != negated)
        elif text != negated:
            self.negate(block, text, negated)
        else:
            self.state(block, text)
        return None

    def opens(self, block: _Node, text: str) -> bool:
        """Return whether a line enters a block here."""
        return self.matches("sections" if block is self.root else "inner", text) is not None

    def enter(self, block: _Node, text: str) -> _Node:
        there = next((node for node in block.below if _same(node.text, text)), None)
        if there is None:
            there = self.line(block, text)
            closing = self.rules.get("closes", "exit" if self.matches("flat", text) else "")
            if closing:
                there.below.append(_Node(self.line(there, closing).line, literal=True))
            block.below.insert(self.place(block, text), there)
        return there

    def line(self, block: _Node, text: str) -> _Node:
        """Return a new line as deep as the others of its block."""
        if block is self.root or self.matches("flat", block.text):
            beside = block.below[0].line if block.below and block is not self.root else ""
            return _Node(beside[: len(beside) - len(beside.lstrip())] + text)
        own = len(block.line) - len(block.line.lstrip())
        depths = [len(node.line) - len(node.line.lstrip()) for node in block.below if node.text]
        return _Node(" " * (depths[0] if depths else own + self.rules.get("indent", 1)) + text)

    def place(self, block: _Node, text: str) -> int:
        """Return where a new line goes: before the end of everything, or of the block."""
        for pattern in self.rules.get("before", ()) if block is self.root else ():
            there = [i for i, node in enumerate(block.below) if re.match(pattern, node.text, re.IGNORECASE)]
            if re.match(pattern, text, re.IGNORECASE) and there:
                return there[0]
        end = self.rules.get("end") if block is self.root else self.rules.get("closes", "exit")
        lines = [node.text if block is self.root else node.line.strip() for node in block.below]
        ends = [i for i, line in enumerate(lines) if line == end]
        return ends[-1] if ends else len(block.below)

    def vlan(self, block: _Node, vid: int, *, gone: bool) -> None:
        """Take a VLAN out of the lists of VLANs, or put it into that of the database."""
        for node in list(block.below):
            match = re.fullmatch(r"vlan ([\d,-]+)", node.text)
            if match is None:
                continue
            vids = memberships.numbers(match[1])
            database = _same(block.text, "vlan database")
            if gone or database:
                vids = vids - {vid} if gone else vids | {vid}
                node.line = node.line.replace(match[1], memberships.listed(vids))
            if not vids:
                block.below.remove(node)

    def word(self, block: _Node, statement: str, word: str, *, gone: bool) -> None:
        """Take a word out of the one line that holds several, or put it there."""
        node = next((node for node in block.below if node.text.startswith(statement)), None)
        held = node.text.removeprefix(statement).split() if node else []
        held = [other for other in held if other != word] + ([] if gone else [word])
        if node and not held:
            block.below.remove(node)
        elif node:
            node.line = f"{statement}{' '.join(held)}"
        else:
            self.add(block, f"{statement}{word}", 0)

    def negate(self, block: _Node, text: str, positive: str) -> None:
        covers = _same if self.matches("alone", positive) else _begins
        self.drop(block, lambda line: covers(line, positive) or _same(line, text))
        if text.startswith("no ") and self.matches("writes_no", positive):
            self.add(block, text, 0)

    def state(self, block: _Node, text: str) -> None:
        self.drop(block, lambda line: _same(line, f"no {text}"))
        self.forget(block, text)
        at = 0
        key = self.matches("replaces", text)
        if key:
            old = [i for i, node in enumerate(block.below) if self.another(node.text, key)]
            at = old[0] if old else 0
            self.drop(block, lambda line: self.another(line, key))
        if not any(_same(node.text, text) for node in block.below) and not self.matches("silent", text):
            self.add(block, text, at)

    def forget(self, block: _Node, text: str) -> None:
        """Take out what a statement takes the place of, though it is another one."""
        for beginning, forgotten in self.rules.get("forgets", {}).items():
            if re.match(beginning, text, re.IGNORECASE):
                self.drop(block, lambda line, gone=forgotten: re.match(gone, line, re.IGNORECASE))

    def drop(self, block: _Node, unwanted: Any) -> None:
        """Take statements out of a block; blocks within it go by their first line only."""
        block.without(lambda line: not self.opens(block, line) and unwanted(line))

    def add(self, block: _Node, text: str, at: int) -> None:
        block.below.insert(self.place(block, text) if block is self.root else at, self.line(block, text))

    def another(self, line: str, key: re.Match[str]) -> bool:
        """Return whether a line is the statement that another one replaces."""
        found = key.re.match(line.removeprefix("no "))
        return found is not None and found[0].casefold() == key[0].casefold()


def _same(line: str, words: str) -> bool:
    return line.casefold() == words.casefold()


def _begins(line: str, words: str) -> bool:
    return f"{line} ".casefold().startswith(f"{words} ".casefold())


def _tree(text: str, rules: dict[str, Any]) -> list[_Node]:
    """Cut a text into lines and what hangs below them; a banner is one piece of text."""
    root = _Node("")
    within: list[tuple[int, _Node]] = [(-1, root)]
    end, flat, closing = "", None, rules.get("closes", "exit")
    for line in text.rstrip("\n").split("\n"):
        if end:
            root.below.append(_Node(line, literal=True))
            end = "" if end in line else end
            continue
        if flat is not None:
            flat.below.append(_Node(line, literal=line.strip() == closing))
            flat = None if line.strip() == closing else flat
            continue
        node = _Node(line)
        depth = len(line) - len(line.lstrip())
        while within[-1][0] >= depth:
            within.pop()
        within[-1][1].below.append(node)
        within.append((depth, node))
        if any(re.match(pattern, line) for pattern in rules.get("flat", ())):
            flat = node
        if banner := re.match(r"banner \w+ *(\^C|\S)?", line):
            end = banner[1] or "EOF"
            end = "" if banner[1] and line.count(end) > 1 else end
    return root.below


def _unroll(root: _Node) -> None:
    """Carry out blocks over a range of ports, as a device does that keeps each port for itself."""
    for block in list(root.below):
        match = re.fullmatch(r"interface range (\D+(?:\d+/)*)(\d+) ?- ?(\d+)", block.line)
        if match is None:
            continue
        root.below.remove(block)
        for number in range(int(match[2]), int(match[3]) + 1):
            port = next(node for node in root.below if node.line == f"interface {match[1]}{number}")
            for line in block.below:
                bare = line.text.removeprefix("no ")
                port.without(lambda old, bare=bare: old in (bare, f"no {bare}"))
                port.below.insert(0, line)
