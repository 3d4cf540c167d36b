"""UCI files, and what ``uci set``, ``add_list``, ``del_list``, ``add`` and ``delete`` make of them.

A section is named, or found as ``@type[n]`` among all of its type in its package; -1 is the last one. ``rules`` are the
YAML of fixtures/corrections/<platform>.yaml: ``packages`` are those that the device has a file of.
"""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass, field
from typing import Any

_PLACE = re.compile(r"(?P<package>\w+)\.(?P<section>\w+|@[\w-]+\[-?\d+\])(?:\.(?P<option>\w+))?(?:=(?P<value>.*))?")


@dataclass
class _Section:
    """A section's type, its name if it has one, and its lines as they stand in the file."""

    kind: str
    name: str
    lines: list[str] = field(default_factory=list)


class _File:
    def __init__(self, text: str) -> None:
        self.head: list[str] = []
        self.sections: list[_Section] = []
        lines = self.head
        for line in text.rstrip("\n").split("\n"):
            words = shlex.split(line, comments=True)
            if words[:1] == ["config"]:
                lines = [line]
                self.sections.append(_Section(words[1], "".join(words[2:]), lines))
            else:
                lines.append(line)

    def text(self) -> str:
        return "\n".join([*self.head, *(line for section in self.sections for line in section.lines)]) + "\n"

    def section(self, place: str) -> _Section | None:
        """Return a section by its name, or by its type and number."""
        match = re.fullmatch(r"@([\w-]+)\[(-?\d+)\]", place)
        if match is None:
            return next((section for section in self.sections if section.name == place), None)
        same = [section for section in self.sections if section.kind == match[1]]
        return same[int(match[2])] if -len(same) <= int(match[2]) < len(same) else None

    def add(self, kind: str, name: str) -> None:
        self.sections.append(_Section(kind, name, ["", f"config {kind}" + (f" '{name}'" if name else "")]))


def applied(files: dict[str, str], commands: list[str], rules: dict[str, Any]) -> dict[str, str]:
    """Return the files after some commands."""
    packages = {name.rpartition("/")[2]: name for name in files}
    texts = {package: _File(files[name]) for package, name in packages.items() if package in rules["packages"]}
    for command in commands:
        match shlex.split(command):
            case ["uci", "add", package, kind]:
                texts[package].add(kind, "")
            case ["uci", "set" | "add_list" | "del_list" | "delete" as verb, place]:
                _take(texts, verb, place)
            case _:
                raise AssertionError(f"no such command: {command}")
    return {name: texts[package].text() if package in texts else files[name] for package, name in packages.items()}


def _take(texts: dict[str, _File], verb: str, text: str) -> None:
    place = _PLACE.fullmatch(text)
    assert place, text
    assert (place["value"] is None) == (verb == "delete"), text
    file = texts[place["package"]]
    section = file.section(place["section"])
    if place["option"] is None:
        if verb == "set" and section is None:
            file.add(place["value"], place["section"])
        elif verb == "delete" and section is not None:
            file.sections.remove(section)
        else:
            assert section is not None, text
            assert section.kind == place["value"], text
        return
    assert section is not None, text
    option, value = place["option"], place["value"]
    own = [line for line in section.lines if shlex.split(line, comments=True)[1:2] == [option] and "config" not in line]
    values = [shlex.split(line, comments=True)[2] for line in own]
    at = section.lines.index(own[0]) if own else 1 + max(i for i, line in enumerate(section.lines) if line.strip())
    section.lines[:] = [line for line in section.lines if line not in own]
    quoted = (value or "").replace("'", "'\\''")
    if verb == "set" and value:
        section.lines.insert(at, f"\toption {option} '{quoted}'")
    elif verb in ("add_list", "del_list"):
        values = [each for each in values if each != value] if verb == "del_list" else [*values, value]
        section.lines[at:at] = ["\tlist {} '{}'".format(option, each.replace("'", "'\\''")) for each in values]
