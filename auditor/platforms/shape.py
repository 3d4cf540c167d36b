"""What all of platform.yaml is made of: lists, patterns, places of settings, parts that take no unknown key."""

from __future__ import annotations

from typing import Annotated, Any

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


Listed = Annotated[list[str], BeforeValidator(_listed)]
Patterns = Listed
SettingPlace = Annotated[Setting, BeforeValidator(_place)]


class Part(BaseModel):
    """A part of platform.yaml."""

    model_config = ConfigDict(extra="forbid", frozen=True)
