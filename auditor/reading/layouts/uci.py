"""UCI: ``config type 'name'`` opens a section, ``option`` and ``list`` lines fill it; or the dotted form of it.

A section ``config wifi-iface 'guest'`` becomes ``wifi-iface guest`` with lines ``ssid=Quarry Guest``; values are
unquoted, and those of options that the owner's rule names under ``lists`` are cut at blanks, one line each. As on the
device, a name stands for one section of a package, an ``option`` for one value, and a later one is worth more.

A rule whose ``opens`` begins with a package reads its sections there, though all others in it are of no audited area.
A package that the device says it does not have has been shown, and is empty; so are those that an export of all
packages does not hold.
"""

from __future__ import annotations

import re

from auditor.platforms.definition import Platform, any_of
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_TOKEN = re.compile(r"""(?:'[^']*'|"(?:[^"\\]|\\.)*"|\\.|[^\s'"\\])+""")
_PIECE = re.compile(r"""'([^']*)'|"((?:[^"\\]|\\.)*)"|\\(.)|([^'"\\]+)""")
_ASKED = re.compile(r"(?:.*[#$]\s*)?uci[ _-](?:export|show)(?:[ _-](?P<package>[\w-]+))?")
"""A command that asks for a package, or for all of them: behind a prompt, or as a file is named after it."""
_DOTTED = re.compile(
    r"(?P<package>[\w-]+)\.(?P<section>[\w-]+|@[\w-]+\[-?\d+\])(?:\.(?P<option>[\w-]+))?=(?P<value>.*)"
)


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut UCI text into sections and account for every line that is in none."""
    comment = tuple(platform.patterns("comment"))
    noise = any_of([*platform.patterns("noise"), platform.pattern("prompt")])
    missing = any_of(platform.patterns("missing"))
    cutter = _Cutter(rules, lines)
    for number, line in enumerate(lines.texts, 1):
        text = line.strip()
        if not text:
            lines.mark(number, Disposition.BLANK)
        elif text.startswith(comment):
            lines.mark(number, Disposition.COMMENT)
        elif match := missing.fullmatch(text):
            cutter.missing(match.groupdict().get("package") or "", number)
        elif noise.match(line):
            cutter.asked(line)
            lines.mark(number, Disposition.NOISE)
        elif match := _DOTTED.fullmatch(text):
            cutter.dotted(match, number)
        else:
            cutter.line(text, number)
    if cutter.whole:
        for command in platform.commands:
            cutter.enter(command.rpartition(" ")[2], 0)
    return cutter.sections


class _Cutter:
    def __init__(self, rules: Rules, lines: Lines) -> None:
        self.rules = rules
        self.lines = lines
        self.sections: list[Section] = []
        self.current: Section | None = None
        self.package = ""
        self.packages: dict[str, Section | None] = {}
        self.by_name: dict[tuple[str, str], Section] = {}
        self.whole = False
        name = lines.name.rpartition("/")[2].partition(".")[0]
        self._asked = name
        self.asked(name)
        if any(lines.texts):
            self.enter(name, 0, said=False)

    def asked(self, line: str) -> None:
        """Remember which package a command asks for."""
        if match := _ASKED.fullmatch(line.strip()):
            self._asked = match["package"] or ""
            self.whole = self.whole or not self._asked

    def missing(self, package: str, number: int) -> None:
        """The device says that it has no such package, ``""`` for the one that it was asked for."""
        if package or self._asked:
            self.enter(package or self._asked, 0)
        self.current = None
        self.lines.mark(number, Disposition.NOISE)

    def enter(self, package: str, number: int, *, said: bool = True) -> None:
        """Begin a package, or go on with it; what nobody knows by the name of a file may be a whole configuration."""
        self.package = package
        if package not in self.packages:
            section = self.rules.open(f"package {package}", number)
            self.sections.append(section)
            read = section.disposition == Disposition.HARMLESS
            unknown = section.disposition == Disposition.NOT_UNDERSTOOD and not said
            self.packages[package] = None if read or unknown else section
        if number:
            self.lines.mark(number, known.disposition if (known := self.packages[package]) else Disposition.HARMLESS)
        self.current = None

    def open(self, kind: str, name: str, number: int) -> Section:
        """Open a section, or the one of that name again."""
        header = f"{kind} {name}".rstrip()
        if name and (again := self.by_name.get((self.package, header))):
            self.current = again
        else:
            whole, within = self.packages.get(self.package), f"{self.package} {header}"
            if whole and not self.rules.owns(within):
                self.current = Section(header, number, disposition=whole.disposition, told=whole.told)
            else:
                self.current = self.rules.open(within if whole else header, number)
            self.sections.append(self.current)
            if name:
                self.by_name[self.package, name] = self.by_name[self.package, header] = self.current
        self.lines.mark(number, self.current.disposition)
        return self.current

    def line(self, text: str, number: int) -> None:
        words = _words(text)
        match words:
            case ["package", name]:
                self.enter(name, number)
            case ["config", kind] | ["config", kind, _]:
                self.open(kind, words[2] if len(words) == 3 else "", number)
                if number == len(self.lines.texts):
                    self.lines.problem = f"it stops at the first line of a section, {text!r}: the capture is cut short"
            case ["option", key, value] if self.current:
                self.value(self.current, key, [value], number, alone=True)
            case ["list", key, value] if self.current:
                self.value(self.current, key, [value], number)
            case _ if self.current:
                self.current.add(text, number)
                self.lines.mark(number, self.current.disposition)
                if words is None and number == len(self.lines.texts):
                    self.lines.problem = "it stops inside a quoted value: the capture is cut short"
            case _:
                self.lines.mark(number, Disposition.NOT_UNDERSTOOD)

    def dotted(self, match: re.Match[str], number: int) -> None:
        package, name = match["package"], match["section"]
        if package != self.package:
            self.enter(package, 0)
        values = _words(match["value"]) or [""]
        if match["option"] is None:
            anonymous = name.startswith("@")
            section = self.open(values[0], "" if anonymous else name, number)
            if anonymous:
                self.by_name[package, name] = section
        elif (package, name) in self.by_name:
            self.value(self.by_name[package, name], match["option"], values, number, alone=True)
        else:
            self.lines.mark(number, Disposition.NOT_UNDERSTOOD)

    def value(self, section: Section, key: str, values: list[str], number: int, *, alone: bool = False) -> None:
        """Add values of an option; ``alone``: what was said of it before no longer holds."""
        self.lines.mark(number, section.disposition)
        if alone:
            section.forget(key)
        cut = section.owner is not None and key in section.owner.rule.lists
        for value in values:
            for word in value.split() if cut else [value]:
                section.add(f"{key}={word}", number)


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
