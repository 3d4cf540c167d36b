"""UCI: ``config type 'name'`` opens a section, ``option`` and ``list`` lines fill it; or the dotted form of it.

A section ``config wifi-iface 'guest'`` becomes ``wifi-iface guest`` with lines ``ssid=Quarry Guest``; values are
unquoted, and those of options that the owner's rule names under ``lists`` are cut at blanks, one line each.
"""

from __future__ import annotations

import re

from auditor.platforms.definition import Platform, any_of
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_TOKEN = re.compile(r"""(?:'[^']*'|"(?:[^"\\]|\\.)*"|\\.|[^\s'"\\])+""")
_PIECE = re.compile(r"""'([^']*)'|"((?:[^"\\]|\\.)*)"|\\(.)|([^'"\\]+)""")
_DOTTED = re.compile(
    r"(?P<package>[\w-]+)\.(?P<section>[\w-]+|@[\w-]+\[-?\d+\])(?:\.(?P<option>[\w-]+))?=(?P<value>.*)"
)


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut UCI text into sections and account for every line that is in none."""
    comment = tuple(platform.patterns("comment"))
    noise = any_of([*platform.patterns("noise"), platform.pattern("prompt")])
    cutter = _Cutter(rules, lines)
    for number, line in enumerate(lines.texts, 1):
        text = line.strip()
        if not text:
            lines.mark(number, Disposition.BLANK)
        elif text.startswith(comment):
            lines.mark(number, Disposition.COMMENT)
        elif noise.match(line):
            lines.mark(number, Disposition.NOISE)
        elif match := _DOTTED.fullmatch(text):
            cutter.dotted(match, number)
        else:
            cutter.line(text, number)
    return cutter.sections


class _Cutter:
    def __init__(self, rules: Rules, lines: Lines) -> None:
        self.rules = rules
        self.lines = lines
        self.sections: list[Section] = []
        self.current: Section | None = None
        self.by_name: dict[str, Section] = {}
        if any(lines.texts):
            stem = lines.name.rpartition("/")[2].partition(".")[0]
            self.open(f"package {stem}", 0)
            self.current = None

    def open(self, header: str, number: int) -> Section:
        self.current = self.rules.open(header, number)
        self.sections.append(self.current)
        if number:
            self.lines.mark(number, self.current.disposition)
        return self.current

    def line(self, text: str, number: int) -> None:
        words = _words(text)
        match words:
            case ["package", name]:
                self.open(f"package {name}", number)
                self.current = None
                self.lines.mark(number, Disposition.OUTSIDE)
            case ["config", kind, *name]:
                self.open(" ".join([kind, *name]), number)
                if number == len(self.lines.texts):
                    self.lines.problem = f"it stops at the first line of a section, {text!r}: the capture is cut short"
            case ["option" | "list", key, value] if self.current:
                self.value(self.current, key, value, number)
            case _ if self.current:
                self.current.add(text, number)
                self.lines.mark(number, self.current.disposition)
                if words is None and number == len(self.lines.texts):
                    self.lines.problem = "it stops inside a quoted value: the capture is cut short"
            case _:
                self.lines.mark(number, Disposition.OUTSIDE)

    def dotted(self, match: re.Match[str], number: int) -> None:
        name = f"{match['package']}.{match['section']}"
        values = _words(match["value"]) or [""]
        if match["option"] is None:
            anonymous = match["section"].startswith("@")
            header = values[0] if anonymous else f"{values[0]} {match['section']}"
            self.by_name[name] = self.open(header, number)
        elif name in self.by_name:
            for value in values:
                self.value(self.by_name[name], match["option"], value, number)
        else:
            self.lines.mark(number, Disposition.NOT_UNDERSTOOD)

    def value(self, section: Section, key: str, value: str, number: int) -> None:
        self.lines.mark(number, section.disposition)
        if section.owner and key in section.owner.rule.lists:
            for word in value.split():
                section.add(f"{key}={word}", number)
        else:
            section.add(f"{key}={value}", number)


def _words(text: str) -> list[str] | None:
    """Return a line's words unquoted, without a comment at its end; ``None`` where a quote is not closed."""
    words = []
    offset = 0
    while offset < len(text):
        if text[offset].isspace():
            offset += 1
        elif text[offset] == "#":
            break
        elif match := _TOKEN.match(text, offset):
            words.append("".join(_piece(piece) for piece in _PIECE.finditer(match[0])))
            offset = match.end()
        else:
            return None
    return words


def _piece(match: re.Match[str]) -> str:
    single, double, escaped, bare = match.groups()
    if double is not None:
        return re.sub(r"\\(.)", r"\1", double)
    return next(part for part in (single, escaped, bare) if part is not None)
