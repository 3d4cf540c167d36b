"""A configuration's lines as a person sees them: what stands below what. It shares nothing with the reader."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

_SET_LINE = re.compile(r"(set|delete|activate|deactivate) ")
_MENU = re.compile(r"/")
CLOSING = ("exit", "quit", "exit-address-family")
"""Lines that close a block and stand as deep as what is in it (common practice, no source)."""


@dataclass
class Outline:
    """The lines of one file.

    Attributes:
        layout: the platform's, by its word in platform.yaml; ``set`` for a tree with all words in each line.
        lines: the lines as they stand.
        real: which of them are configuration: no comment, banner, prompt or blank.
        above: for each line the one that it stands below, or -1.
        below: for each line that others stand below, which these are.
    """

    layout: str
    lines: list[str]
    real: list[bool]
    above: list[int] = field(default_factory=list)
    below: dict[int, list[int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        whole = [line for line, real in zip(self.lines, self.real, strict=True) if real]
        if self.layout == "braces" and sum(bool(_SET_LINE.match(line)) for line in whole) * 2 > len(whole):
            self.layout = "set"
        find = {"statements": self._by_menu, "set": self._flat}.get(self.layout, self._by_indentation)
        self.above = find()
        for line, head in enumerate(self.above):
            if head >= 0:
                self.below.setdefault(head, []).append(line)

    def parents(self, line: int) -> list[int]:
        """Return the lines around a line, the outermost first."""
        found: list[int] = []
        while (line := self.above[line]) >= 0:
            found.insert(0, line)
        return found

    def heads(self) -> list[int]:
        """Return the lines that others stand below."""
        return sorted(self.below)

    def goes_on(self, line: int) -> bool:
        """Return whether a statement is carried on in the next line."""
        return self.layout == "statements" and self.lines[line].endswith("\\") and line + 1 < len(self.lines)

    def inner(self, head: int) -> str:
        """Return the indentation of what stands below a line."""
        return indentation(self.lines[self.below[head][0]]) if head in self.below else indentation(self.lines[head])

    def end(self, head: int) -> int:
        """Return the last line below a line, in front of the one that closes its block."""
        own = [line for line in self.below.get(head, ()) if self.lines[line].strip() not in CLOSING]
        return self._last(own[-1]) if own else head

    def _last(self, line: int) -> int:
        return self._last(self.below[line][-1]) if line in self.below else line

    def _flat(self) -> list[int]:
        return [-1] * len(self.lines)

    def _by_menu(self) -> list[int]:
        found, menu = [], -1
        for number, line in enumerate(self.lines):
            is_menu = self.real[number] and bool(_MENU.match(line)) and not self._carried_on(number)
            found.append(menu if self.real[number] and not is_menu else -1)
            menu = number if is_menu else menu
        return found

    def _carried_on(self, number: int) -> bool:
        return number > 0 and self.lines[number - 1].endswith("\\")

    def _by_indentation(self) -> list[int]:
        found: list[int] = []
        stack: list[tuple[int, int]] = []
        for number, line in enumerate(self.lines):
            if not self.real[number]:
                found.append(-1)
                continue
            depth = len(indentation(line).expandtabs(8))
            while stack and stack[-1][0] >= depth:
                stack.pop()
            found.append(stack[-1][1] if stack else -1)
            stack.append((depth, number))
        return found


def indentation(line: str) -> str:
    """Return the blanks in front of a line."""
    return line[: len(line) - len(line.lstrip())]


INDENTED_STEP = " "
KeyLines = Callable[[str], list[str]]
"""What makes the lines of an invented key, given their indentation."""


def key_lines(layout: str, *, semicolons: bool) -> list[KeyLines]:
    """Return the ways to write an invented key below a line, in a layout."""
    ways: dict[str, list[KeyLines]] = {
        "words": [lambda indent: [f"{indent}set zorple 1"]],
        "uci": [lambda indent: [f"{indent}option zorple '1'"], lambda indent: [f"{indent}list zorple '1'"]],
        "braces": [lambda indent: [f"{indent}zorple 1{';' * semicolons}"]],
        "statements": [lambda _: ["add zorple=1"]],
    }
    return ways.get(layout, [lambda indent: [f"{indent}zorple 1"]])


def section_lines(layout: str, head: str, indent: str, *, semicolons: bool) -> list[str]:
    """Return the lines of an invented section or branch."""
    if layout == "words":
        deeper = indent + "    "
        return [
            f"{indent}config {head}",
            f"{deeper}edit 1",
            f"{deeper}    set zorple 1",
            f"{deeper}next",
            f"{indent}end",
        ]
    if layout == "uci":
        return [f"config {head} 'zorple'", "\toption zorple '1'"]
    if layout == "braces":
        return [f"{indent}{head} {{", f"{indent}    zorple 1{';' * semicolons}", f"{indent}}}"]
    if layout == "statements":
        return [f"/{head}", "add name=zorple"]
    if layout == "set":
        return [f"set {head} 1"]
    return [f"{indent}{head}", f"{indent}{INDENTED_STEP}zorple 1"]
