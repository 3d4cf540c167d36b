"""Sections: what a layout cuts a text into, and who owns each.

A section is a first line and what hangs below it. The first of a platform's rules whose ``opens`` matches owns it;
without an owner it is knowingly ignored, of no audited area, or not understood.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from auditor.platforms.definition import Platform, SectionRule
from auditor.reading.known import Conditions, Told, known_sections
from auditor.reading.rows import Template, Typing
from auditor.reading.source import Disposition


class Owner:
    """A section rule made ready: its template, and how the first line of its sections becomes typed values.

    ``nested``: who owns sections within the body of these, with the pattern that finds them there; ``conditions``:
    their lines that override where another one is missing.
    """

    def __init__(self, rule: SectionRule, template: Template, typing: Typing) -> None:
        self.rule = rule
        self.template = template
        self.flat_line = re.compile(rule.flat, re.IGNORECASE)
        self.nested: list[tuple[Owner, re.Pattern[str]]] = []
        self.conditions = Conditions(rule)
        self._typing = typing
        self._constants = typing.values({name: text for name, text in rule.values.items() if "{" not in text})
        self._made = {name: text for name, text in rule.values.items() if "{" in text}

    def head(
        self, texts: dict[str, str], around: str = "", outer: Mapping[str, str] = MappingProxyType({})
    ) -> tuple[dict[str, Any], bool]:
        """Return what a first line and the rule say of a section, and whether all of the line was understood."""
        values = dict(self._constants)
        understood = True
        made = {name: pattern.format_map({**outer, **texts, "around": around}) for name, pattern in self._made.items()}
        for name, text in {**texts, **made}.items():
            try:
                values[name] = self._typing.value(name, text)
            except ValueError:
                understood = False
        return values, understood


@dataclass(slots=True)
class Section:
    """A first line and its body.

    Attributes:
        header: the first line in the form that rules match.
        number: its line number; 0 if no line says it.
        owner: who reads it; ``None`` if nothing does.
        head: text of the fields that the first line fills.
        disposition: what becomes of its lines where nothing reads it; ``told`` is what is known of it then.
        around: the words of the blocks that stand around it and are not said by rules; of indented lines, the first
            line of the section that it is within.
        outer: the text of the fields that the first lines of the sections around it fill.
        body: its lines, each with its end.
        numbers: the line number of each.
    """

    header: str
    number: int
    owner: Owner | None = None
    head: dict[str, str] = field(default_factory=dict)
    disposition: Disposition = Disposition.OUTSIDE
    body: str = ""
    numbers: Sequence[int] = ()
    around: str = ""
    told: Told | None = None
    outer: Mapping[str, str] = field(default_factory=dict)

    def add(self, line: str, number: int, *, first: bool = False) -> None:
        """Append a line that the layout has made, or put it before all others; several may have one number."""
        line = line.replace("\n", "\\n") + "\n"
        self.body = line + self.body if first else self.body + line
        self.numbers = [number, *self.numbers] if first else [*self.numbers, number]

    def change(self, line: str, number: int) -> None:
        """Put a line of ``key=value`` into the place of the one with the same key, or append it."""
        self.forget(_key(line))
        self.add(line, number)

    def forget(self, key: str) -> None:
        """Take away the lines of ``key=value`` with a key."""
        if key not in self.body:
            return
        kept = [pair for pair in zip(self.body.split("\n")[:-1], self.numbers, strict=True) if _key(pair[0]) != key]
        self.body = "".join(f"{text}\n" for text, _ in kept)
        self.numbers = [at for _, at in kept]

    def append(self, block: str, number: int, count: int) -> None:
        """Append lines as they stand in the text; what lies between them and those before becomes blank lines."""
        if self.numbers:
            first = self.numbers[0]
            self.body += "\n" * (number - first - len(self.numbers)) + block
            self.numbers = range(first, number + count)
        else:
            self.body = block
            self.numbers = range(number, number + count)

    def unfolded(self) -> tuple[list[Section], str]:
        """Return the sections within this one, and its body with their lines, but not their first, made blank."""
        found: list[Section] = []
        body = self.body
        for owner, pattern in self.owner.nested if self.owner else ():
            within: list[Section] = []
            for match in reversed(list(pattern.finditer(body))):
                number = self.numbers[0] + body.count("\n", 0, match.start())
                count = match["body"].count("\n")
                numbers = range(number + 1, number + 1 + count)
                head = {name.lower(): text.strip() for name, text in match.groupdict().items() if name.isupper()}
                inner = Section(match["line"], number, owner, head, Disposition.READ, match["body"], numbers)
                inner.outer, inner.around = {**self.outer, **self.head}, self.header
                within.append(inner)
                body = body[: match.start("body")] + "\n" * count + body[match.end("body") :]
            found += reversed(within)
        return found, body


def _key(line: str) -> str:
    """Return the key of ``key=value``, or of one that is not set, ``!key``."""
    return line.partition("=")[0].removeprefix("!")


class Rules:
    """A platform's section rules as one compiled pattern: who owns a first line."""

    def __init__(self, platform: Platform, make_owner: Callable[[SectionRule], Owner]) -> None:
        self._owners = [_with_inner(make_owner(rule), make_owner) for rule in platform.sections]
        alternatives = []
        for index, rule in enumerate(platform.sections):
            alternatives.append(f"(?:{_distinct_groups('|'.join(rule.opens), index)})(?P<rule_{index}>)")
        self._pattern = re.compile("(?:" + "|".join(alternatives) + r")\Z", re.IGNORECASE)
        self._groups: list[list[tuple[str, str]]] = [[] for _ in self._owners]
        for group in self._pattern.groupindex:
            name, separator, rest = group.partition("__")
            if separator:
                self._groups[int(rest.partition("_")[0])].append((name.lower(), group))
        self._known = known_sections(platform)

    def open(self, header: str, number: int) -> Section:
        """Return a new section for a first line, with its owner or its disposition."""
        match = self._pattern.match(header)
        if match and match.lastgroup:
            index = int(match.lastgroup[5:])
            head = {name: match[group].strip() for name, group in self._groups[index] if match[group] is not None}
            return Section(header, number, self._owners[index], head, Disposition.READ)
        return self.unowned(header, number)

    def unowned(self, header: str, number: int) -> Section:
        """Return a new section for a first line that no rule owns, with its disposition."""
        if told := self._known.of(header):
            return Section(header, number, disposition=told.kind, told=told)
        return Section(header, number, disposition=Disposition.NOT_UNDERSTOOD)

    def audits(self, header: str) -> bool:
        """Return whether a first line belongs to an audited area, read or not."""
        told = self._known.of(header)
        return told is None or told.kind is not Disposition.OUTSIDE

    def owns(self, header: str) -> bool:
        """Return whether some rule opens a section with this line."""
        return self._pattern.match(header) is not None


def _with_inner(owner: Owner, make_owner: Callable[[SectionRule], Owner]) -> Owner:
    """Give the owner of sections the owners of those within, which may hold more of them."""
    for rule in owner.rule.sections:
        line = "|".join(rule.opens)
        found = rf"^(?P<indent>[ \t]+)(?P<line>{line})\n(?P<body>(?:\n*(?P=indent)[ \t]+.*\n)+)"
        inner = _with_inner(make_owner(rule), make_owner)
        owner.nested.append((inner, re.compile(found, re.MULTILINE | re.IGNORECASE)))
    return owner


def _distinct_groups(pattern: str, index: int) -> str:
    """Make group names differ between rules and between the alternatives of one: ``NAME`` becomes ``NAME__3_1``."""
    count = 0

    def numbered(match: re.Match[str]) -> str:
        nonlocal count
        count += 1
        return f"(?P<{match[1]}__{index}_{count}>"

    return re.sub(r"\(\?P<(\w+)>", numbered, pattern)
