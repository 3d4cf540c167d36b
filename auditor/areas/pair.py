"""Both sides of a device as they are compared, in a form in which what is equal means the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from pydantic import BaseModel

from auditor.areas.expected import Expected
from auditor.areas.reading import Reading
from auditor.core.domains import Domain
from auditor.core.report import Doubt
from auditor.core.state import DeviceState, Setting
from auditor.platforms.definition import Platform
from auditor.redact import without_written
from auditor.topology.system import DEFAULT_VRF

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
        carrier_vlans: VLANs and bridges of planned uplinks alone; they are the carrier's, not the plan's.
        leads: by port the domains that its tags lead into, where these are bridges and not the VLANs of the tags.
    """

    reading: Reading
    platform: Platform
    expected: Expected
    observed: DeviceState
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    carrier_vlans: frozenset[Domain] = frozenset()
    leads: dict[str, dict[int, Domain]] = field(default_factory=dict)

    def observe(self, **areas: object) -> None:
        """Put other items into the place of what was observed in some areas."""
        self.observed = self.observed.model_copy(update=areas)

    @property
    def vrf(self) -> str:
        """The VRF that most of the planned gateways are in."""
        counted = Counter(vrf for item, vrf in self._vrfs().items() if item.area == "gateways")
        return max(counted, key=lambda vrf: (counted[vrf], vrf == DEFAULT_VRF), default=DEFAULT_VRF)

    def apart(self) -> set[Setting]:
        """Return the planned gateways and uplinks that are in another VRF and lead nowhere there.

        A VRF with gateways and an uplink of its own is a network of its own, if there is a way out of the others, too.
        """
        if not self.reading.vrf_of:
            return set()
        vrfs = self._vrfs()
        out = {vrf for item, vrf in vrfs.items() if item.area == "uplinks"}
        whole = out & {vrf for item, vrf in vrfs.items() if item.area == "gateways"} if self.vrf in out else set()
        return {item for item, vrf in vrfs.items() if vrf not in {self.vrf, *whole}}

    def _vrfs(self) -> dict[Setting, str]:
        """Return the VRFs of the planned gateways that route, and of the planned uplinks."""
        seen, wanted = self.reading.state, self.expected
        items = [Setting("gateways", str(vid)) for vid in seen.gateways if vid in wanted.routed]
        items += [Setting("uplinks", name) for name in seen.uplinks if name in wanted.state.uplinks]
        return {item: self.reading.vrf_of.get(item, DEFAULT_VRF) for item in items}

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
