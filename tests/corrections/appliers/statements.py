"""Exports of one statement a line, ``add`` and ``set`` below a path, and the commands that change them.

An item is found by its words (``[find name=staff]``) or by its name or number; what has no line of its own because it
is as the device comes, gets one when it is set. ``rules`` are the YAML of fixtures/corrections/<platform>.yaml:

    alone: paths of settings that there is one of, without a name.
    always: paths whose items are there by themselves, with or without a line.
    one_of: by path, the words that two items may not have in common: the device refuses to add such a second one.
    unsaid: by path, values that an export leaves out, because they are what an item comes with.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

_VALUE = r'"(?:[^"\\]|\\.)*"|[^\s"\]]*'
_WORD = re.compile(rf"(?P<find>\[ *find [^\]]*\])|(?P<key>[!.]?[\w.-]+)=(?P<value>{_VALUE})|(?P<bare>\S+)")
_COMMAND = re.compile(r"(?P<path>/[a-z0-9 -]+?) (?P<verb>add|set|remove)(?: (?P<rest>.*))?")


@dataclass
class _Statement:
    """An item: where it is, how it is found where it was not added, its words by key as they are written."""

    path: str
    verb: str
    target: str
    words: dict[str, str]
    lines: list[str] = field(default_factory=list)

    def text(self) -> list[str]:
        words = [f"{key}={value}" for key, value in self.words.items()]
        return self.lines or [" ".join(filter(None, [self.path, self.verb, self.target, *words]))]


def applied(files: dict[str, str], commands: list[str], rules: dict[str, Any]) -> dict[str, str]:
    """Return the files after some commands; there is one."""
    ((name, text),) = files.items()
    device = _Device(text, rules)
    for command in commands:
        device.take(command)
    return {name: device.text()}


class _Device:
    def __init__(self, text: str, rules: dict[str, Any]) -> None:
        self.rules = rules
        self.parts: list[_Statement | str] = []
        path, pending = "", []
        for line in text.rstrip("\n").split("\n"):
            pending.append(line)
            if line.endswith("\\"):
                continue
            whole = "".join(
                piece.removesuffix("\\") if i == 0 else piece.removesuffix("\\").lstrip()
                for i, piece in enumerate(pending)
            )
            found = _COMMAND.fullmatch(whole if whole.startswith("/") else f"{path} {whole}")
            if found and not line.startswith("#"):
                target, words = _words(found["rest"] or "")
                self.parts.append(_Statement(found["path"], found["verb"], target, words, pending))
            else:
                self.parts += pending
            if whole.startswith("/"):
                path = found["path"] if found else whole.strip()
            pending = []

    def text(self) -> str:
        return (
            "\n".join(line for part in self.parts for line in ([part] if isinstance(part, str) else part.text())) + "\n"
        )

    def take(self, command: str) -> None:
        """Carry out a command."""
        match = _COMMAND.fullmatch(command)
        assert match, f"no such command: {command}"
        target, words = _words(match["rest"] or "")
        path, verb = match["path"], match["verb"]
        if verb == "add":
            assert not target, command
            same = self.rules["one_of"].get(path, ["name"])
            if not any(
                all(self.value(item, key) == _plain(words.get(key, "")) for key in same) for item in self.items(path)
            ):
                item = _Statement(path, "add", "", {})
                self.write(item, words)
                self.parts.append(item)
            return
        found = [item for item in self.items(path) if self.is_found(item, target)]
        if verb == "remove":
            assert target.startswith("[find "), command
            self.parts = [part for part in self.parts if not any(part is item for item in found)]
            return
        assert words, command
        if not found and (path in self.rules["alone"] or path in self.rules["always"]):
            assert bool(target) != (path in self.rules["alone"]), command
            found = [_Statement(path, "set", target, {})]
            self.parts += found
        for item in found:
            self.write(item, words)

    def items(self, path: str) -> list[_Statement]:
        return [part for part in self.parts if isinstance(part, _Statement) and part.path == path]

    def is_found(self, item: _Statement, target: str) -> bool:
        """Return whether an item is what ``[find …]``, a name or number, or nothing at all is about."""
        if not target.startswith("["):
            return item.target == target
        _, conditions = _words(target.removeprefix("[find ").removesuffix("]"))
        assert conditions, target
        return all(self.value(item, key) == _plain(wanted) for key, wanted in conditions.items())

    def value(self, item: _Statement, key: str) -> str:
        """Return what an item has, said or not: by its line, by how it is found, or as it comes."""
        _, found_by = _words(item.target.strip("[] ").removeprefix("find ")) if "find" in item.target else ("", {})
        said = item.words.get(key, found_by.get(key))
        return str(self.rules["unsaid"].get(item.path, {}).get(key, "")) if said is None else _plain(said)

    def write(self, item: _Statement, words: dict[str, str]) -> None:
        unsaid = self.rules["unsaid"].get(item.path, {})
        item.lines = []
        for key, value in words.items():
            if _plain(value) in ("", str(unsaid.get(key, ""))):
                item.words.pop(key, None)
            else:
                item.words[key] = value


def _words(text: str) -> tuple[str, dict[str, str]]:
    """Return how an item is found, and the words by key; ``.key`` goes on with the prefix before it."""
    target, words, prefix = "", {}, ""
    for match in _WORD.finditer(text):
        if match["key"]:
            key = prefix + match["key"] if match["key"].startswith(".") else match["key"]
            prefix = key.rpartition(".")[0] or prefix
            if not key.startswith("!"):
                words[key] = match["value"]
        else:
            assert not target, text
            target = match["find"] or match["bare"]
    return re.sub(r"^\[ *(.*?) *\]$", r"[\1]", target), words


def _plain(value: str) -> str:
    return re.sub(r"\\(.)", r"\1", value[1:-1]) if value.startswith('"') else value
