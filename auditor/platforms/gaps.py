"""What a dialect has no notion of, and what our templates can neither read nor write: declared in platform.yaml."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, model_validator

from auditor.core.state import KEYED_AREAS, DeviceState, Setting, default_of, items_of
from auditor.platforms.shape import ItemPlace, Listed, Part


def _texts(told: Any) -> Any:
    """Take numbers and truth values as the texts that they are compared by."""
    return [_text(each) for each in told] if isinstance(told, list) else told


class Gap(Part):
    """Why a setting is left out, and of which planned values that holds; of all, where nothing else is said.

    Attributes:
        why: the reason, in a sentence that ends in what to do next.
        only: planned values that it holds of; of a setting with several values or numbers, any of these.
        but: planned values that it does not hold of.
        most: it holds of a setting that has more values than these.
        alike: it holds where items of one device have unequal values: the dialect has one for all of them.
        roles: roles of devices that it holds of; all if unsaid.
    """

    why: str
    only: Annotated[Listed, BeforeValidator(_texts)] = []
    but: Annotated[Listed, BeforeValidator(_texts)] = []
    most: Annotated[int, Field(ge=1)] | None = None
    alike: bool = False
    roles: Listed = []

    @model_validator(mode="before")
    @classmethod
    def _of_all(cls, told: Any) -> Any:
        return {"why": told} if isinstance(told, str) else told

    @property
    def whole(self) -> bool:
        """Whether it holds of the setting as such, whatever its value."""
        return not (self.only or self.but or self.most or self.alike)

    def of_role(self, role: str) -> bool:
        """Return whether it holds of devices of a role."""
        return not self.roles or role in self.roles

    def rest(self, setting: Setting, value: Any) -> Any:
        """Return what is left of a planned value where it does not hold: all of it, a part, or the default value."""
        if self.whole:
            return default_of(setting)
        if isinstance(value, dict):
            return {key: each for key, each in value.items() if not self.holds_of(key)}
        if isinstance(value, tuple):
            return tuple(each for each in value if not self.holds_of(each))[: self.most]
        return default_of(setting) if value is not None and self.holds_of(value) else value

    def holds_of(self, value: Any) -> bool:
        """Return whether it holds of one value."""
        text = _text(value)
        return text in self.only or bool(self.but and text not in self.but)


Gaps = dict[ItemPlace, Gap]
"""By setting, of all items or, as ``vlans.1.name``, of one; or by area."""


def _text(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def gap_of(gaps: Mapping[Setting, Gap], setting: Setting, role: str) -> Gap | None:
    """Return the gap that a setting, or its whole area, is in on devices of a role."""
    places = (Setting(setting.area), Setting(setting.area, "", setting.field), setting)
    return next((gaps[place] for place in places if place in gaps and gaps[place].of_role(role)), None)


def touched(gaps: Mapping[Setting, Gap], state: DeviceState, role: str) -> Iterator[tuple[Setting, Gap]]:
    """Yield the settings of a state that have something which gaps hold of; an area that is in one, item by item."""
    for place, gap in gaps.items():
        if not gap.of_role(role):
            continue
        first: Any = None
        for key, item in items_of(state, place.area).items():
            setting = Setting(place.area, key, place.field)
            if place.key not in ("", key):
                continue
            if not place.field:
                yield setting, gap
                continue
            value = getattr(item, place.field)
            holds = bool(value) if gap.whole else gap.rest(setting, value) != value
            if holds or (gap.alike and value and first and value != first):
                yield setting, gap
            first = first or value


def without(gaps: Mapping[Setting, Gap], state: DeviceState, role: str) -> DeviceState:
    """Return a state without all that gaps hold of; an item that is nothing without it goes, too."""
    for setting, gap in list(touched(gaps, state, role)):
        items = items_of(state, setting.area)
        item = items[setting.key]
        required = setting.field and type(item).model_fields[setting.field].is_required()
        if not setting.field or required:
            del items[setting.key]
        else:
            rest = default_of(setting) if gap.alike else gap.rest(setting, getattr(item, setting.field))
            items[setting.key] = item.model_copy(update={setting.field: rest})
        state = _with(state, setting.area, items)
    return state


def _with(state: DeviceState, area: str, items: Mapping[str, Any]) -> DeviceState:
    if area not in KEYED_AREAS:
        return state.model_copy(update={area: items[""]})
    kept = {key: items[str(key)] for key in getattr(state, area) if str(key) in items}
    return state.model_copy(update={area: kept})


def told(gaps: Mapping[Setting, Gap]) -> Iterator[tuple[str, str]]:
    """Yield each gap as its setting, with the values that it holds of, and its reason."""
    for place, gap in gaps.items():
        text = str(place)
        parts = [
            " ".join(gap.only),
            f"all but {' '.join(gap.but)}" if gap.but else "",
            f"more than {gap.most}" if gap.most else "",
            "unequal values" if gap.alike else "",
            f"as {' or '.join(gap.roles)}" if gap.roles else "",
        ]
        yield " · ".join([text, *(part for part in parts if part)]), gap.why


__all__ = ["Gap", "Gaps", "gap_of", "told", "touched", "without"]
