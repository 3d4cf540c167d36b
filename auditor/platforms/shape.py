"""What all of platform.yaml is made of: lists, patterns, places of settings, parts that take no unknown key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict

from auditor.core.state import KEYED_AREAS, Setting, fields_of


def _listed(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _place(text: Any) -> Setting:
    """Return the setting that ``vlans``, ``vlans.name`` or ``management.ntp`` stands for, whatever the item."""
    area, _, field = str(text).partition(".")
    areas = ("hostname", "management", *KEYED_AREAS)
    if area not in areas:
        raise ValueError(f"{area!r} is no area: {', '.join(areas)}")
    fields = () if area == "hostname" else (*fields_of(area), *(["unlisted"] * (area == "ports")))
    if field and field not in fields:
        raise ValueError(f"{field!r} is no setting of {area}: {', '.join(fields)}")
    return Setting(area, "", field)


def named(models: Mapping[str, Any], what: str) -> BeforeValidator:
    """Return what takes a word for the model of that name, and refuses all else."""

    def model(word: Any) -> Any:
        if not isinstance(word, str) or word not in models:
            raise ValueError(f"{word!r} is no model of {what}: {', '.join(models)}")
        return models[word]

    return BeforeValidator(model)


def _item_place(text: Any) -> Setting:
    """Return the same, of one item where a key stands between its area and its field: ``vlans.1.name``."""
    area, _, rest = str(text).partition(".")
    key, _, field = rest.rpartition(".")
    return _place(f"{area}.{field}" if field else area)._replace(key=key)


Listed = Annotated[list[str], BeforeValidator(_listed)]
Patterns = Listed
BLOCK_ENDS = frozenset({"exit", "end", "quit"})
"""Lines that close a block of indented lines, or stand behind it, whatever the dialect (common practice)."""
SettingPlace = Annotated[Setting, BeforeValidator(_place)]
ItemPlace = Annotated[Setting, BeforeValidator(_item_place)]

LineKind = Literal[
    "comment",
    "prompt",
    "noise",
    "refusal",
    "missing",
    "interruption",
    "script",
    "clock",
    "stored",
    "end",
    "above_end",
    "any_key",
    "outer",
    "off",
    "begin",
]
"""What a line is that is no configuration.

- ``comment``: what a comment begins with, to the letter.
- ``prompt``: what a prompt looks like. ``noise``: what is no configuration wherever it stands.
- ``missing``: the answer of a device that has nothing of what it is asked for; a group ``package`` names it.
- ``refusal``: the answer of a device that refuses a command. ``interruption``: it says that it stopped in the middle.
- ``script``: what a statement looks like that sets a device up and is no configuration of one.
- ``clock``: what a device prints when it is read, with groups ``year``, ``month`` (a number, or three letters of its
  English name) and ``day`` of its clock; a date of change is none. Comments or noise, whole lines.
- ``stored``: what stands with the configuration that a device starts with, in place of the one that it runs: whole
  comments, prompts or noise.
- ``end``: the line that a complete configuration ends with; none where the dialect has no such line. ``above_end``:
  lines below the last of which it must stand, where it also stands elsewhere.
- ``any_key``: what stands before the first prompt until any key is pressed, which agrees to nothing.
- ``off``: a line of a section by which the section as a whole is off, so that nothing in it overrides.
- ``begin``: the line that a whole configuration begins with, so that another one begins another configuration.
- ``outer``: it says that blocks of the layout's ``outer`` stand around everything.
"""


class Part(BaseModel):
    """A part of platform.yaml."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Reasons = dict[str, Patterns]
"""Patterns of lines by the reason why they are in a closed list."""


class OverridingLines(Part):
    """Lines that are known and not modelled, and that can make an audited setting untrue.

    Attributes:
        lines: what they look like. A group ``KEY`` names the item that such a line bears on: a port or a list of
            them, a list of VLANs, or a key to the letter.
        why: what they may do, in a sentence that ends in what to check.
        bears_on: the areas, or fields of them, whose settings they may make untrue.
        everywhere: those of all items; otherwise, in a section that is read, of the items that are read from it. What
            stands in none bears on all items, or on the one that it names.
        read: the template reads such a line all the same.
        when: they may do so only where this occurs in the capture; elsewhere such a line is what another list makes of
            it, or what the template reads.
        unless: they override nothing where another line of the capture looks like this, as what they name is defined
            there: ``{name}`` stands for what a group of that name holds. They are then what other lists, or the
            template, make of them.
        where: they override only where other lines of the capture look like these; ``{name}`` stands for what a group
            of the line, or of one of these before it, holds, and ``{head}`` for the last word of the section's first
            line. They are then what they are with ``unless``.
        beside: those lines stand in the same section.
    """

    lines: Patterns
    why: str
    bears_on: list[SettingPlace]
    everywhere: bool = False
    read: bool = False
    when: str | None = None
    unless: str = ""
    where: Listed = []
    beside: bool = False

    @property
    def conditional(self) -> bool:
        """Whether it hangs on other lines."""
        return bool(self.unless or self.where)
