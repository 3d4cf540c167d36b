"""What a correction has to bring about: an item as it is and as it should be, with all that one statement sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from auditor.areas import Mismatch, room
from auditor.compare.judge import Judgement
from auditor.core.domains import Domain, domain
from auditor.core.state import DeviceState, Port, Setting, fields_of
from auditor.platforms.definition import Platform


@dataclass(frozen=True, slots=True)
class Change:
    """From one state of a device to another, which differ in one item at most.

    Attributes:
        setting: the setting that the finding is about.
        fields: the fields of its item that are brought along: one, a group, or all of an item that comes or goes.
        before, item: the item as it is and as it should be, with everything else in it as it is; ``None`` is "not
            there". For the hostname, a text; for management, all of it.
        state, planned: the device as it is, and with the item as it should be.
    """

    setting: Setting
    fields: tuple[str, ...]
    before: Any
    item: Any
    state: DeviceState
    planned: DeviceState

    def reversed(self) -> Change:
        """Return the change that takes this one back."""
        return Change(self.setting, self.fields, self.item, self.before, self.planned, self.state)

    @property
    def key(self) -> Any:
        """The item's key as a DeviceState has it: VLAN ids are numbers."""
        return domain(self.setting.key) if self.setting.area in ("vlans", "gateways") else self.setting.key

    def of(self, item: Any) -> Any:
        """Return the value of the setting in an item: a field, or all of it."""
        return getattr(item, self.setting.field, None) if self.setting.field else item


def gone_addresses(change: Change) -> set[str]:
    """Return the addresses of a layer-3 interface that a change takes away without putting one in their place."""
    if change.setting.area != "gateways":
        return set()
    before, after = (set(item.addresses) if item else set() for item in (change.before, change.item))
    return set() if len(after) >= len(before) else before - after


def carried(port: Port) -> set[Domain]:
    """Return the domains that a port carries, tagged or not."""
    untagged: set[Domain] = {port.untagged} if port.untagged else set()
    return {*port.tagged, *untagged}


def change_of(mismatch: Mismatch, judgement: Judgement, platform: Platform) -> Change:
    """Return what would settle a mismatch of a device that was read."""
    assert judgement.pair is not None
    setting = mismatch.setting
    expected, observed = judgement.pair.expected.state, judgement.pair.observed
    if setting.area == "hostname":
        planned = observed.model_copy(update={"hostname": expected.hostname})
        return Change(setting, ("hostname",), observed.hostname, expected.hostname, observed, planned)
    if setting.area == "management":
        update = {setting.field: getattr(expected.management, setting.field)}
        item = observed.management.model_copy(update=update)
        planned = observed.model_copy(update={"management": item})
        return Change(setting, (setting.field,), observed.management, item, observed, planned)
    return _of_item(setting, judgement, platform, expected, observed)


def _of_item(
    setting: Setting, judgement: Judgement, platform: Platform, expected: DeviceState, observed: DeviceState
) -> Change:
    items: dict[Any, BaseModel] = dict(getattr(observed, setting.area))
    key = next(k for k in (*items, *getattr(expected, setting.area)) if str(k) == setting.key)
    before, wanted = items.get(key), getattr(expected, setting.area).get(key)
    if setting.field:
        assert before is not None
        fields = _together(setting, judgement, platform)
        item = before.model_copy(update={name: getattr(wanted, name) for name in fields})
    else:
        fields, item = fields_of(setting.area), wanted
    if item is None:
        del items[key]
    else:
        items[key] = item
    return Change(setting, fields, before, item, observed, observed.model_copy(update={setting.area: items}))


def _together(setting: Setting, judgement: Judgement, platform: Platform) -> tuple[str, ...]:
    """Return the fields of an item that differ and go together with one that does."""
    groups = [*room(setting.area).together, *platform.correction.fields_together(setting.area)]
    names = {name for group in groups if setting.field in group for name in group}
    differing = {m.setting.field for m in judgement.mismatches if m.setting.item == setting.item}
    return (setting.field, *sorted((names & differing) - {setting.field}))
