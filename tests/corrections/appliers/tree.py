"""A device whose configuration is a tree: ``set``, ``delete`` and the like change statements by their whole path.

Blocks in braces and whole paths are read; whole paths are printed, which such devices do as well. Rules (patterns for
all of a path, its words with one blank between them):
    one: statements with one value, without it: a new value takes the place of the old one.
    many: statements with several values, without them: each is a statement of its own.
    bare: statements without a value.
    stays: what remains, empty, where the last statement in it is deleted.
    mark: the sign that quotes a word with blanks; beside: lines that are no configuration.
"""

from __future__ import annotations

import re
from typing import Any

Path = tuple[str, ...]
_WORD = re.compile(r"""/\*.*?\*/|\#\#.*|"((?:[^"\\]|\\.)*)"|((?:'[^']*'|\\'|[^\s"';])+)|(;)""")


def applied(files: dict[str, str], commands: list[str], rules: dict[str, Any]) -> dict[str, str]:
    """Return the files after some commands."""
    ((name, text),) = files.items()
    device = _Device(text, rules)
    for line in commands:
        device.take(*_words(line))
    return {name: device.text()}


class _Device:
    def __init__(self, text: str, rules: dict[str, Any]) -> None:
        self.rules = rules
        self.statements: list[Path] = []
        self.off: list[Path] = []
        self.read(text)

    def read(self, text: str) -> None:
        """Take a configuration as it is printed."""
        within: list[Path] = [()]
        for line in re.sub(r"(?s)^/\*.*?\*/", "", text, flags=re.MULTILINE).split("\n"):
            words = [] if self.matches("beside", line.strip()) else _words(line)
            if not words or words[0].startswith(("#", "//")):
                continue
            if words[0] in ("set", "deactivate") and len(within) == 1:
                (self.statements if words[0] == "set" else self.off).append(tuple(words[1:]))
                continue
            inactive = words[0] == "inactive:"
            path = (*within[-1], *words[inactive:])
            if words == ["}"]:
                closed = within.pop()
                if not any(_within(statement, closed) for statement in self.statements):
                    self.statements.append(closed)
            elif words[-1] == "{":
                path = path[:-1]
                within.append(path)
            elif words[-1] == "]":
                at = path.index("[")
                self.statements += [(*path[:at], word) for word in path[at + 1 : -1]]
            else:
                self.statements.append(path)
            self.off += [path] if inactive else []
        assert within == [()]

    def text(self) -> str:
        """Return the configuration, a line a statement."""
        lines = [("set", *path) for path in self.statements] + [("deactivate", *path) for path in self.off]
        return "".join(" ".join(map(self.printed, line)) + "\n" for line in lines)

    def printed(self, word: str) -> str:
        """Return a word in quotes where it needs them."""
        if re.fullmatch(r"[\w./:@+*<>=,-]+", word):
            return word
        if self.rules["mark"] == "'":
            return "'" + word.replace("'", "'\\''") + "'"
        return '"' + re.sub(r'(["\\])', r"\\\1", word) + '"'

    def matches(self, name: str, text: str) -> bool:
        return any(re.fullmatch(pattern, text) for pattern in self.rules.get(name, ()))

    def take(self, verb: str, *path: str) -> None:
        """Carry out a command."""
        match verb:
            case "set" if path[-1] == "]":
                for word in path[path.index("[") + 1 : -1]:
                    self.set((*path[: path.index("[")], word))
            case "set":
                self.set(path)
            case "delete":
                self.delete(path)
            case "activate":
                self.off = [off for off in self.off if off != path]
            case "deactivate":
                assert any(_within(statement, path) for statement in self.statements)
                self.off.append(path)
            case "rename":
                self.rename(path[: path.index("to")], path[path.index("to") + 1 :])
            case _:
                raise AssertionError(verb)

    def set(self, path: Path) -> None:
        leaf = path[:-1]
        if self.matches("one", " ".join(leaf)):
            self.statements = [old for old in self.statements if old[:-1] != leaf]
        else:
            assert self.matches("many", " ".join(leaf)) or self.matches("bare", " ".join(path)), " ".join(path)
        if not any(_within(old, path) for old in self.statements):
            self.statements = [old for old in self.statements if not _within(path, old)]
            self.statements.append(path)

    def rename(self, old: Path, last: Path) -> None:
        new = (*old[: -len(last)], *last)
        assert not any(_within(statement, new) for statement in self.statements)
        self.statements = [(*new, *s[len(old) :]) if _within(s, old) else s for s in self.statements]

    def delete(self, path: Path) -> None:
        self.statements = [old for old in self.statements if not _within(old, path)]
        self.off = [old for old in self.off if not _within(old, path)]
        for length in range(len(path) - 1, 0, -1):
            outer = path[:length]
            if any(_within(old, outer) for old in self.statements):
                return
            if self.matches("stays", " ".join(outer)):
                self.statements.append(outer)
                return


def _within(statement: Path, path: Path) -> bool:
    return statement[: len(path)] == path


def _words(line: str) -> list[str]:
    """Return the words of a line, out of their quotes; the sign that ends a statement left out."""
    found = []
    for match in _WORD.finditer(line):
        if match[1] is not None:
            found.append(re.sub(r"\\(.)", r"\1", match[1]))
        elif match[2]:
            found.append(re.sub(r"'([^']*)'|\\(')", lambda m: m[1] or m[2] or "", match[2]))
    return found
