"""Both sides of a device as they are compared, in a form in which what is equal means the same."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from pydantic import BaseModel

from auditor.areas.expected import Expected
from auditor.areas.reading import Reading
from auditor.core.report import Doubt
from auditor.core.state import DeviceState, Setting
from auditor.core.values import NO_VLANS, VlanSet
from auditor.platforms.definition import Platform
from auditor.redact import without_written

Item = TypeVar("Item", bound=BaseModel)


@dataclass(slots=True)
class Pair:
    """Both sides in a form in which what is equal means the same.

    Attributes:
        reading: what was read.
        platform: the dialect's data.
        expected: what the device should be; narrowed to what its dialect can say.
        observed: what it is, as the plan calls things.
        unverified: planned settings that the two sides together cannot tell, and why.
        carrier_vlans: VLANs on planned uplinks; they are the carrier's, not the plan's.
    """

    reading: Reading
    platform: Platform
    expected: Expected
    observed: DeviceState
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    carrier_vlans: VlanSet = NO_VLANS

    def observe(self, **areas: object) -> None:
        """Put other items into the place of what was observed in some areas."""
        self.observed = self.observed.model_copy(update=areas)

    def expect(self, **areas: object) -> None:
        """Put other items into the place of what is planned in some areas, where they are others."""
        if any(getattr(self.expected.state, area) != items for area, items in areas.items()):
            self.expected = replace(self.expected, state=self.expected.state.model_copy(update=areas))

    def leave_open(self, *settings: Setting) -> None:
        """Have settings not judged."""
        if settings:
            self.expected = replace(self.expected, unsaid=self.expected.unsaid | set(settings))


def shown(item: Item, *fields: str) -> Item:
    """Return a planned item as what is read is shown: without the secrets that people write into names."""
    update: dict[str, Any] = {}
    for name in fields:
        value = getattr(item, name)
        if isinstance(value, dict):
            update[name] = {key: without_written(text) for key, text in value.items()}
        elif value:
            update[name] = without_written(value)
    same = all(getattr(item, name) == value for name, value in update.items())
    return item if same else item.model_copy(update=update)
