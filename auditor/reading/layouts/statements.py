"""One statement a section: a path, a verb and ``key=value`` words, wrapped and quoted as an export has them.

``/interface vlan`` / ``add interface=bridge name=staff vlan-id=10`` becomes a section ``/interface vlan add`` with
the lines ``interface=bridge``, ``name=staff`` and ``vlan-id=10``; values are unquoted. A key that is not set,
``!key``, is a line without a value. A relative ``.key=value`` takes over the prefix in front of it.

What a statement is about becomes lines of its own, of which a template reads those that it can tell the item by:
``[ find key=value ]`` is ``@key=value``, a name ``@=word``, an item's number ``@number=0`` (unless the statement says
the item's name as well), several of them ``@several=a,b``, all that there are ``@all=``, any other condition
``@find=…``. What is worked out while a script runs is ``@script=…``.

In menus whose rows are all told (``layout.rows``), a ``set`` changes the section of the row that it names; where
there is no such row, its lines are not understood.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass

from auditor.platforms.definition import Platform, any_of
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines, decode_line

_VERBS = frozenset(
    {"add", "set", "remove", "enable", "disable", "move", "print", "reset", "unset", "comment", "export"}
)
_ESCAPE = re.compile(r"((?:\\[0-9A-Fa-f]{2})+)|\\(.)", re.DOTALL)
_NAMED_ESCAPES = {"n": "\\n", "r": "\\r", "t": "\\t", "_": " ", "a": "", "b": "", "f": "", "v": ""}
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')
_CONDITION = r'([\w.-]+)=("(?:[^"\\]|\\.)*"|[^\s"()\[\]{}&|;,$]+)'
_FIND = re.compile(rf"find(?:\s+where)?((?:\s+{_CONDITION})*)\s*")
_NUMBER = re.compile(r"\d+|\*[0-9A-Fa-f]+")
_INTERNAL = re.compile(r"!\*[0-9A-Fa-f]+")
"""Something without a name of its own that is no more."""
_WORD = re.compile(
    r"""
    (?P<bracket>\[[^\]"]*(?:"(?:[^"\\]|\\.)*"[^\]"]*)*\])
    | (?P<key>[!.]?[\w.-]+)=(?:(?P<quoted>"(?:[^"\\]|\\.)*")|(?P<group>[({\[].*)|(?P<bare>[^\s"]*))
    | (?P<lone>"(?:[^"\\]|\\.)*"|[^\s"]+)
    """,
    re.VERBOSE | re.DOTALL,
)


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut an export into one section a statement and account for every line that is in none."""
    comment = tuple(platform.patterns("comment"))
    noise = any_of([*platform.patterns("noise"), platform.pattern("prompt")])
    script = any_of(platform.patterns("script"))
    sections = []
    rows = _Rows(platform.layout.rows)
    path = ""
    for statement in _statements(lines, comment, noise):
        if script.search(_QUOTED.sub('""', statement.text)):
            lines.refuse_script(statement.numbers)
            continue
        found = _Words(statement, path)
        if statement.text.startswith("/"):
            path = found.path
        if not found.verb and not found.body and not found.rest:
            path = found.path
            for number in statement.numbers:
                lines.mark(number, Disposition.READ if rules.audits(path) else Disposition.OUTSIDE)
            continue
        section = rules.open(found.header, statement.numbers[0])
        row = rows.of(found, section)
        for number in statement.numbers:
            lines.mark(number, row.disposition if row else Disposition.NOT_UNDERSTOOD)
        if row is not section:
            if row and not found.rest:
                rows.change(row, found)
            elif row:
                row.add(found.rest, statement.numbers[-1])
            continue
        for text, number in found.body:
            section.add(text, number)
        if found.rest:
            section.add(found.rest, statement.numbers[-1])
        sections.append(section)
    return sections


class _Rows:
    """The rows of menus whose rows are all told: the section of each, by menu and name.

    Args:
        menus: by menu, the names of the rows that the device has by itself, in the order of their numbers.
    """

    def __init__(self, menus: dict[str, list[str]]) -> None:
        self._own = menus
        self._rows: dict[tuple[str, str], Section] = {}

    def of(self, found: _Words, section: Section) -> Section | None:
        """Return the section that a statement belongs to, a new one or its row's; ``None`` where no such row is."""
        own = self._own.get(found.path)
        if own is None or found.verb not in ("add", "set"):
            return section
        name = self._selected(found, own) if found.verb == "set" else found.value("name")
        if name is None:
            return section  # it says otherwise which row it is about: for the template to tell
        if found.verb == "set" and (found.path, name) not in self._rows and name not in own:
            return None
        row = self._rows.setdefault((found.path, name), section)
        return section if found.verb == "add" else row

    def change(self, row: Section, found: _Words) -> None:
        """Change a row by a statement about it."""
        for text, number in found.body:
            if text.partition("=")[0] not in ("@", "@name", "@number", "@default"):
                row.change(text, number)
        if name := found.value("name"):
            self._rows[found.path, name] = row

    def _selected(self, found: _Words, own: list[str]) -> str | None:
        """Return the name of the row that a statement is about; ``None`` where it says neither name nor number."""
        if found.number:
            number = found.number.removeprefix("*")
            return own[int(number)] if number.isdecimal() and int(number) < len(own) else found.number
        if found.value("@default") == "yes" and "default" in own:
            return "default"
        named = [value for value in map(found.value, ("@name", "@")) if value]
        return named[0] if named else found.value("name") or None


@dataclass(slots=True)
class _Statement:
    """A statement's text with its continuations joined; ``starts`` are the offsets where its lines begin."""

    text: str
    starts: list[int]
    numbers: list[int]

    def line_at(self, offset: int) -> int:
        return self.numbers[bisect_right(self.starts, offset) - 1]


def _statements(lines: Lines, comment: tuple[str, ...], noise: re.Pattern[str]) -> list[_Statement]:
    found: list[_Statement] = []
    pending: _Statement | None = None
    for number, line in enumerate(lines.texts, 1):
        if pending:
            inside = _in_quotes(pending.text)
            rest = line.removeprefix("    ") if inside else line.lstrip()
            pending.starts.append(len(pending.text))
            pending.numbers.append(number)
            pending.text += rest
        elif not line.strip():
            lines.mark(number, Disposition.BLANK)
            continue
        elif line.lstrip().startswith(comment):
            lines.mark(number, Disposition.COMMENT)
            continue
        elif noise.match(line):
            lines.mark(number, Disposition.NOISE)
            continue
        else:
            pending = _Statement(line.strip(), [0], [number])
        if pending.text.endswith("\\"):
            pending.text = pending.text[:-1]
            continue
        found.append(pending)
        pending = None
    if pending:
        lines.problem = "it stops in the middle of a statement: the capture is cut short"
        found.append(pending)
    elif found and _in_quotes(found[-1].text):
        lines.problem = "it stops inside a quoted value: the capture is cut short"
    return found


def _in_quotes(text: str) -> bool:
    return '"' in text and len(re.findall(r'(?<!\\)(?:\\\\)*"', text)) % 2 == 1


_LONGEST_PATH = 400
"""Signs that no path of menus comes near; what goes on in front of the verb is none."""


class _Words:
    """A statement's words: the header for the rules, the body for the template, the path it leaves behind."""

    def __init__(self, statement: _Statement, path: str) -> None:
        self.path = path
        self.verb = ""
        self.body: list[tuple[str, int]] = []
        self.rest = ""
        self.number = ""
        self._statement = statement
        self._prefix = ""
        self._read()
        self.header = f"{self.path} {self.verb}".strip()

    def _read(self) -> None:
        text = self._statement.text
        offset = 0
        if text.startswith("/"):
            self.path = ""
        while offset < len(text):
            if text[offset].isspace():
                offset += 1
                continue
            match = _WORD.match(text, offset)
            if not match:
                self.rest = text[offset:]
                return
            if len(self.path) > _LONGEST_PATH:
                self.rest = text[offset:]
                return
            self._word(match, self._statement.line_at(offset))
            offset = match.end()
        self.number = self.value("@number")
        if any(text.startswith("name=") for text, _ in self.body):
            self.body = [(text, number) for text, number in self.body if not text.startswith("@number=")]

    def value(self, key: str) -> str:
        """Return what the body says of a key; empty where it says nothing."""
        return next((text.partition("=")[2] for text, _ in self.body if text.partition("=")[0] == key), "")

    def _word(self, match: re.Match[str], number: int) -> None:
        if match["bracket"]:
            self.body += [(f"@{key}={value}", number) for key, value in _conditions(match["bracket"])]
        elif match["group"] is not None:
            self.body.append((f"@script={match[0]}", number))
        elif match["key"] == "numbers":
            self.body.append((_selection(match["quoted"] or match["bare"]), number))
        elif match["key"]:
            key = match["key"]
            if key.startswith("."):
                key = self._prefix + key
            elif "." in key:
                self._prefix = key.rpartition(".")[0]
            self.body.append((f"{key}={_value(match)}", self._statement.line_at(match.end() - 1)))
        elif match["lone"].startswith("!"):
            if not _INTERNAL.fullmatch(match["lone"]):
                self.body.append((match["lone"], number))
        elif self.verb:
            self.body.append((_selection(match["lone"]), number))
        else:
            self._lead(match["lone"])

    def _lead(self, word: str) -> None:
        """Take a word in front of the verb: part of the path, or the verb itself."""
        for part in word.split("/"):
            if part == "..":
                self.path = self.path.rpartition(" ")[0]
            elif part in _VERBS and (self.path or not word.startswith("/")):
                self.verb = part
            elif part:
                self.path += f" {part}" if self.path else f"/{part}"


def _value(match: re.Match[str]) -> str:
    return match["bare"] if match["quoted"] is None else _unquote(match["quoted"])


def _unquote(text: str) -> str:
    if not text.startswith('"'):
        return text
    return _ESCAPE.sub(_plain, text[1:-1]).replace("\n", "\\n")


def _plain(match: re.Match[str]) -> str:
    if match[1]:
        return decode_line(bytes.fromhex(match[1].replace("\\", "")))
    return _NAMED_ESCAPES.get(match[2], match[2])


def _selection(word: str) -> str:
    """Return the line for a word that says which items are meant: a name, a number, or several of them."""
    if _NUMBER.fullmatch(word):
        return f"@number={word}"
    return f"@several={word}" if "," in _QUOTED.sub("", word) else f"@={_unquote(word)}"


def _conditions(bracket: str) -> list[tuple[str, str]]:
    """Return the conditions of a ``[ find … ]``, each key once; whatever else is in brackets is given back as it is."""
    inner = bracket[1:-1].strip()
    if not re.match(r"find\b", inner):
        return [("script", inner)]
    match = _FIND.fullmatch(inner)
    found = [(key, _unquote(value)) for key, value in re.findall(_CONDITION, match[1])] if match else []
    if match is None or len({key for key, _ in found}) < len(found):
        return [("find", inner)]
    return found or [("all", "")]
