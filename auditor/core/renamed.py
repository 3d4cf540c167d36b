"""Names of settings as they are now, for what was written with the names that version 0.1.0 had for them."""

from __future__ import annotations

from typing import Any

_FIELDS = {"ports": {"untagged_vlan": "untagged", "tagged_vlans": "tagged", "voice_vlan": "voice"}}
"""By area: fields by the name that they had, and the one that they have."""


def setting_now(setting: str) -> str:
    """Return a setting's name as it is now; ``ports.7.untagged_vlan`` is ``ports.7.untagged``."""
    item, _, field = setting.rpartition(".")
    area, _, key = item.partition(".")
    return f"{item}.{_FIELDS.get(area, {}).get(field, field)}" if key else setting


def value_now(setting: str, value: Any) -> Any:
    """Return a setting's value, the fields of a whole item by their names as they are now."""
    if not isinstance(value, dict):
        return value
    names = _FIELDS.get(setting.partition(".")[0], {})
    return {names.get(name, name): held for name, held in value.items()}
