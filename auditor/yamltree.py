"""YAML as plain data that knows its lines: the YAML 1.2 core schema, no tags, no duplicate keys, bounded in size.

Under YAML 1.1 ``on:`` and ``off:`` would be booleans and ``12:30:00`` a number; here they are text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

import yaml

Value = TypeVar("Value")
MAX_BYTES = 4 * 1024 * 1024
MAX_NODES = 200_000
MAX_DEPTH = 40

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """Where a value was written: the file, the line (of a workbook, the row; 0 where there is none), the sheet."""

    file: str
    line: int
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class YamlProblem:
    """Something wrong with the text as YAML: where, and in words."""

    line: int
    path: KeyPath
    message: str


class RawInt(int):
    """A whole number that remembers how it was written (``0123``)."""

    raw: str


class RawFloat(float):
    """A number that remembers how it was written (``2.40``)."""

    raw: str


@dataclass(slots=True)
class YamlTree:
    """Parsed YAML.

    Attributes:
        value: dictionaries (keys are text), lists, text, numbers, booleans, None.
        lines: the line of each path; a key's own line for a mapping's entry.
        problems: what was wrong; entries concerned are left out of ``value``.
        sheets: for data from a workbook, the sheet that each path stands on.
        file: the name of the file.
        files: for data put together from several files, the file of each path that another one has than ``file``.
    """

    value: Any = None
    lines: dict[KeyPath, int] = field(default_factory=dict)
    problems: list[YamlProblem] = field(default_factory=list)
    sheets: dict[KeyPath, str] = field(default_factory=dict)
    file: str = ""
    files: dict[KeyPath, str] = field(default_factory=dict)

    def written(self, path: KeyPath) -> Written:
        """Return where a path was written, or the nearest thing above it of which that is known."""
        return Written(_nearest(self.files, path, self.file), self.line(path), self.sheet(path))

    def sheet(self, path: KeyPath) -> str:
        """Return the sheet that a path, or the nearest thing above it, stands on; empty for text."""
        return _nearest(self.sheets, path, "")

    def line(self, path: KeyPath) -> int:
        """Return the line of a path, or of the nearest thing above it that has one."""
        return _nearest(self.lines, path, 1)


def _nearest(known: Mapping[KeyPath, Value], path: KeyPath, otherwise: Value) -> Value:
    """Return what is known of a path, or of the nearest thing above it."""
    return next((known[path[:n]] for n in range(len(path), -1, -1) if path[:n] in known), otherwise)


def parse(text: str, file: str = "") -> YamlTree:
    """Parse YAML text; never raises for bad text. ``file`` is the name of its file."""
    tree = YamlTree(file=file)
    if len(text.encode()) > MAX_BYTES:
        tree.problems.append(YamlProblem(0, (), f"the file is larger than {MAX_BYTES // 1024} KiB"))
        return tree
    try:
        node = yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        tree.problems.append(YamlProblem(_line_of(error, text), (), f"not valid YAML: {_what(error)}"))
        return tree
    except RecursionError:
        tree.problems.append(YamlProblem(0, (), "it is nested too deeply"))
        return tree
    _Builder(tree).start(node)
    return tree


def _line_of(error: yaml.YAMLError, text: str) -> int:
    """Return the line that an error is about; of what never ends, the line where it begins."""
    if isinstance(error, yaml.reader.ReaderError):
        return text.count("\n", 0, error.position) + 1
    mark, opened = getattr(error, "problem_mark", None), getattr(error, "context_mark", None)
    if opened and mark and mark.index >= len(text.rstrip()):
        mark = opened
    return mark.line + 1 if mark else 0


def _what(error: yaml.YAMLError) -> str:
    """Return what is wrong in one line, without a name that stands in the text: it might be a secret."""
    said = str(getattr(error, "problem", None) or error).split("\n", 1)[0]
    said = re.sub(r"(alias|anchor|tag|tag handle|directive) ['\"].*", r"\1", said)
    what_to_do = next((f": {told}" for sign, told in _HELP.items() if sign in said), "")
    return f"{said}{what_to_do}"


_HELP = {
    "'\\t'": "indent with blanks, not with tabs",
    "mapping values are not allowed": "put quotation marks around a value that has a colon and a blank in it",
    "could not find expected ':'": "after a key there must be a colon and a blank",
}
"""What to do about what is commonly written wrong, by a part of what PyYAML says of it."""


class _Loader(yaml.SafeLoader):
    """PyYAML's parser with the core schema's plain scalars only."""

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012 - PyYAML's own attribute


_CORE = "tag:yaml.org,2002:"
_SCALARS = (
    ("null", r"(~|null|Null|NULL|)\Z", ["~", "n", "N", ""]),
    ("bool", r"(true|True|TRUE|false|False|FALSE)\Z", [*"tTfF"]),
    ("int", r"([-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)\Z", [*"-+0123456789"]),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z", [*"-+.0123456789"]),
)
_PATTERNS = {f"{_CORE}{name}": re.compile(pattern) for name, pattern, _ in _SCALARS}
for _name, _, _first in _SCALARS:
    _Loader.add_implicit_resolver(_CORE + _name, _PATTERNS[_CORE + _name], _first)

_PLAIN = {*_PATTERNS, *(f"{_CORE}{name}" for name in ("str", "map", "seq"))}
_MAX_DIGITS = 100
_HALF = re.compile("[\ud800-\udfff]")
_HALF_WORDS = "half of a character (a surrogate without its other half), which no file can hold"
_NOTHING = object()
"""Stands for a value that is left out."""


class _TooLarge(Exception):  # noqa: N818 - a signal, not an error
    """Aliases or nesting make the data larger than any plan."""


class _Builder:
    def __init__(self, tree: YamlTree) -> None:
        self.tree = tree
        self.nodes = 0

    def start(self, node: yaml.Node | None) -> None:
        try:
            value = self.build(node, ()) if node else None
            self.tree.value = None if value is _NOTHING else value
        except _TooLarge as signal:
            self.tree.value = None
            self.tree.problems.append(YamlProblem(0, (), str(signal)))

    def wrong(self, node: yaml.Node, path: KeyPath, message: str) -> None:
        self.tree.problems.append(YamlProblem(node.start_mark.line + 1, path, message))

    def build(self, node: yaml.Node, path: KeyPath) -> Any:
        self.nodes += 1
        if self.nodes > MAX_NODES:
            raise _TooLarge(f"it holds more than {MAX_NODES} values, aliases counted as often as they are used")
        if len(path) > MAX_DEPTH:
            raise _TooLarge(f"it is nested more than {MAX_DEPTH} levels deep")
        self.tree.lines.setdefault(path, node.start_mark.line + 1)
        if node.tag not in _PLAIN:
            self.wrong(node, path, "a YAML tag: write the plain value")
            return _NOTHING
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            items = [self.build(item, (*path, index)) for index, item in enumerate(node.value)]
            return [item for item in items if item is not _NOTHING]
        if _HALF.search(node.value):
            self.wrong(node, path, f"it has {_HALF_WORDS}")
            return _NOTHING
        if node.tag in _PATTERNS and not _PATTERNS[node.tag].match(node.value):
            self.wrong(node, path, f"not a valid {node.tag.removeprefix(_CORE)}, as its tag says it is")
            return _NOTHING
        if node.tag != f"{_CORE}str" and len(node.value) > _MAX_DIGITS:
            self.wrong(node, path, f"a number of {len(node.value)} digits")
            return _NOTHING
        return _scalar(node.tag, node.value)

    def mapping(self, node: yaml.MappingNode, path: KeyPath) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.wrong(key_node, path, "a key must be plain text")
                continue
            if _HALF.search(key_node.value):
                self.wrong(key_node, path, f"a key has {_HALF_WORDS}")
                continue
            key = str(key_node.value)
            here = (*path, key)
            if key in found:
                first = self.tree.lines[here]
                self.wrong(key_node, here, f"duplicate key, first in line {first}: keep one of them")
                continue
            self.tree.lines[here] = key_node.start_mark.line + 1
            found[key] = self.build(value_node, here)
        return {key: value for key, value in found.items() if value is not _NOTHING}


def _scalar(tag: str, text: str) -> Any:
    match tag.removeprefix(_CORE):
        case "null":
            return None
        case "bool":
            return text.lower() == "true"
        case "int":
            number = RawInt(int(text, 0) if text[:2] in ("0x", "0o") else int(text))
            number.raw = text
            return number
        case "float":
            real = RawFloat(text)
            real.raw = text
            return real
    return text


class Quoted(str):
    """Text that is written in quotes, also where it needs none."""

    __slots__ = ()


class _Dumper(yaml.SafeDumper):
    """PyYAML's emitter, for readers of YAML 1.1 and of 1.2: what either takes for no text is quoted."""


def _represent(dumper: _Dumper, text: str) -> yaml.ScalarNode:
    style = '"' if isinstance(text, Quoted) or not text.isprintable() else None
    return dumper.represent_scalar(f"{_CORE}str", str(text), style=style)


for _kind in (str, Quoted):
    _Dumper.add_representer(_kind, _represent)
for _name, _, _first in _SCALARS:
    _Dumper.add_implicit_resolver(_CORE + _name, _PATTERNS[_CORE + _name], _first)


def flow(value: dict[str, Any]) -> str:
    """Return plain data as YAML in one line; characters that cannot be seen, or reorder text, are written escaped."""
    text = _dumped(value, as_it_is=True)
    return text if text.isprintable() else _dumped(value, as_it_is=False)


def _dumped(value: dict[str, Any], *, as_it_is: bool) -> str:
    text: str = yaml.dump(
        value, Dumper=_Dumper, default_flow_style=True, sort_keys=False, width=2**31, allow_unicode=as_it_is
    )
    return text.strip()
