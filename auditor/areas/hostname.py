"""The device's own name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Ruling, Sighting, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.report import Doubt
from auditor.core.state import Setting


class HostnameArea(Area):
    """Compared without regard to case, as host names are (RFC 4343)."""

    name = "hostname"
    told_by: ClassVar[Mapping[str, str]] = {
        "": "system.hostname",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "other": "the hostname in the capture is {found}: check that it is a capture of {device}"
    }

    def planned(self, planning: Planning) -> str:
        """A device that the plan gives no host name has the one that the plan calls it by."""
        return planning.device.hostname or planning.name

    def observed(self, seen: Observation) -> str | None:
        """Return the name that the configuration says."""
        seen.evidence.note(self.name, "", seen.topology.system, {"": ("hostname",)})
        return seen.topology.system.hostname or None

    def rulings(self, pair: Pair, passphrase: Callable[[str], bool | Doubt]) -> Iterator[Ruling]:  # noqa: ARG002
        """Yield the verdict on the name."""
        wanted, found = pair.expected.state.hostname, pair.observed.hostname
        if wanted is None:
            return
        if found is None:
            why = "the capture does not show the device's name: save its whole configuration, as an administrator"
            yield Setting(self.name), Doubt("not-saved", why)
        elif found.casefold() != wanted.casefold():
            yield Mismatch(Setting(self.name), "differs", wanted, found)

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Another name may mean that the capture is another device's."""
        return upkeep("other", found=m.observed, device=seen.device)
