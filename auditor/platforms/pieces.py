"""``corrections.yaml``: a platform's pieces of corrections, keyed by setting, put together as one Jinja2 template.

Pieces that several dialects have in common are in ``templates/shared/``; a platform's own take their place. What a
piece can say is explained in DEVELOPERS.md, "Writing corrections".
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from auditor import yamltree
from auditor.errors import PlatformError
from auditor.platforms import catalogue
from auditor.resources import read_text

FILE = "corrections.yaml"
_GROUPS = ("values", "macros", "style")
_STEP = "  "
_INLINE = {"for": " do ", "in": " do ", "if": " then ", "elif": " then ", "else": " "}
"""What may hold other lines, and the word before one that stands on the same line."""
_MACRO = '{{% macro {} %}}\n{{% filter trim("\\n") %}}\n{}{{% endfilter %}}\n{{% endmacro %}}\n'
"""A macro by what it is called with and its text, without line breaks around it, so that it can be a value."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """What a platform's corrections are made of.

    Attributes:
        source: the template; ``entry`` says which of the entries it writes.
        entries: the settings that there are entries for.
        style: how the dialect takes a line back, and how it indents and ends sections.
    """

    source: str
    entries: frozenset[str]
    style: dict[str, Any] = field(default_factory=dict)

    def entry(self, *names: str) -> str:
        """Return the first of some names that there is an entry for; empty where there is none."""
        return next((name for name in names if name in self.entries), "")


@cache
def pieces_of(platform: str) -> Pieces:
    """Return the pieces of a platform, those that it shares or has from the platform that it is like included.

    Raises:
        PlatformError: a file is no YAML.
    """
    merged: dict[str, Any] = {}
    for layer in _layers(platform):
        for group in _GROUPS:
            merged.setdefault(group, {}).update(layer.pop(group, {}))
        merged.update(layer)
    values, macros, style = (merged.pop(group) for group in _GROUPS)
    entries = {name: text for name, text in merged.items() if text is not None}
    text = "".join(_MACRO.format(head, jinja(body)) for head, body in _by_name(macros))
    text += "".join(f"{{% set {name} = {value} %}}\n" for name, value in values.items())
    text += "".join(f'{{% if entry == "{name}" %}}\n{jinja(piece)}{{% endif %}}\n' for name, piece in entries.items())
    return Pieces(text, frozenset(entries), style)


def _layers(platform: str) -> Iterator[dict[str, Any]]:
    """Yield the data of a platform from the most general to its own."""
    known = catalogue.get(platform)
    for folder in (known.like, known.name):
        if folder and catalogue.has_own(folder, FILE):
            data = _data("platforms", folder, FILE)
            for name in data.pop("uses", []):
                yield _data("shared", f"{name}.yaml")
            yield data


def _data(*path: str) -> dict[str, Any]:
    tree = yamltree.parse(read_text(*path))
    if tree.problems:
        raise PlatformError(f"{'/'.join(path)}:{tree.problems[0].line}: {tree.problems[0].message}")
    data: dict[str, Any] = tree.value
    return data


def _by_name(macros: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    """Yield macros by what they are called with; of those of one name, the last takes the others' place."""
    yield from {head.partition("(")[0]: (head, body) for head, body in macros.items()}.values()


def jinja(piece: Any) -> str:
    """Return the Jinja2 text of a piece, in which a line ``% if …`` holds what is indented below it."""
    return "".join(_written(re.sub(r" \\\n *", " ", str(piece)).splitlines()))


def _written(lines: list[str]) -> Iterator[str]:
    ends: list[str] = []
    while lines:
        line = lines.pop(0)
        word, _, rest = line.removeprefix("% ").partition(" ")
        if ends and not line.startswith("% el"):
            yield ends.pop()
        if not line.startswith("% "):
            yield f"{line}\n"
        elif word == "list":
            name, _, made = rest.partition(" = ")
            value, _, loop = made.partition(" for ")
            yield f"{{% set {name} = [] %}}{{% for {loop} %}}{{% do {name}.append({value}) %}}{{% endfor %}}\n"
        elif word not in _INLINE:
            yield "".join(f"{{% {word} {each} %}}\n" for each in rest.split(" ; "))
        else:
            if not word.startswith("el"):
                ends.append("{% endcall %}\n" if word == "in" else f"{{% end{word} %}}\n")
            head, _, inline = rest.partition(_INLINE[word]) if word != "else" else ("", "", rest)
            body = [inline] if inline else []
            while lines and lines[0].startswith(_STEP) and (not inline or inline.startswith("% ")):
                body.append(lines.pop(0)[len(_STEP) if not inline else 0 :])
            opening = f"{{% set entered %}}{head}{{% endset %}}\n{{% call inside(entered) %}}\n"
            yield opening if word == "in" else f"{{% {word} {head} %}}\n"
            yield from _written(body)
    yield from ends
