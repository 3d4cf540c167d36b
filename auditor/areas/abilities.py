"""What can be read of a platform's devices, told by its data: a setting counts that some template or rule fills."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from auditor.areas.rooms import ROOMS
from auditor.core.state import Setting
from auditor.platforms.definition import Platform
from auditor.reading.dialect import Dialect, dialect


@dataclass(frozen=True, slots=True)
class Abilities:
    """What can be read of one platform.

    Attributes:
        platform: its data.
        read: the settings that can be read, as ``area.field``; ``hostname``, and ``vlans`` for VLANs as such.
        missing: the settings that the dialect may have and that are not read.
        lacking: the settings that it has no notion of.
    """

    platform: Platform
    read: frozenset[str]
    missing: tuple[str, ...]
    lacking: tuple[str, ...]

    def of(self, area: str) -> str:
        """Return how much of an area can be read: ``all``, ``part`` or ``none`` of what the dialect has of it."""
        if not any(name.partition(".")[0] == area for name in self.read):
            return "none"
        return "part" if any(name.partition(".")[0] == area for name in self.missing) else "all"


def abilities_of(name: str) -> Abilities:
    """Return what can be read of a platform.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    ready = dialect(name)
    filled = _filled(ready)
    lacks = {place for place, gap in ready.platform.lacks.items() if gap.whole and not gap.roles}
    read, missing, lacking = {"vlans"}, [], []
    for place, sources in _places():
        setting = str(place)
        if filled & sources:
            read.add(setting)
        elif Setting(place.area) in lacks or place in lacks:
            lacking.append(setting)
        else:
            missing.append(setting)
    return Abilities(ready.platform, frozenset(read), tuple(missing), tuple(lacking))


def _places() -> Iterator[tuple[Setting, set[str]]]:
    """Yield each setting of each area, whatever the item, with the fields of rows that it can come from."""
    for room in ROOMS:
        for name, sources in room.told_by.items():
            yield Setting(room.name, "", name), set(sources.split())


def _filled(ready: Dialect) -> set[str]:
    """Return the fields of rows that templates, first lines, rules and the DHCP server's ways fill."""
    platform = ready.platform
    found = {f"{template.feature}.{value.lower()}" for template in ready.templates for value in template.value_names}
    for rule in platform.every_section:
        groups = {group for pattern in rule.opens for group in re.compile(pattern).groupindex}
        found.update(f"{rule.feature}.{group.lower()}" for group in groups)
        found.update(f"{rule.feature}.{name}" for name in rule.values)
        found.update(f"{rule.feature}.{name}={value}" for name, value in rule.values.items())
    found.update(f"dhcp.{name}" for name in (*platform.dhcp.own, *platform.dhcp.fields.values()))
    found.update(f"{feature}.{name}" for feature, each in platform.defaults.items() for d in each for name in d.values)
    return found
