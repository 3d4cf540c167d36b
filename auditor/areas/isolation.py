"""Who may open connections from one subnet to another; decided from packet filters and the plan's prefixes together."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from auditor.areas.area import Area, Ruling
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.report import Doubt
from auditor.core.state import Setting

_FILTERS_UNREAD = Doubt(
    "cannot",
    "isolation is not checked: the packet filters of this platform are not read; test from a client of the subnet that "
    "it cannot open connections there",
)


class IsolationArea(Area):
    """No platform's filters are read, so who may open connections to whom cannot be told."""

    name = "isolation"

    def planned(self, planning: Planning) -> None:
        """Note what isolates the subnets that the device routes: from each other subnet, and from devices.

        A subnet that is itself called ``devices`` shares one setting with these.
        """
        for name, subnet in planning.routed.items():
            if subnet.isolated:
                others = [other for other in planning.subnets if other not in (name, "devices")]
                planning.isolation += [Setting(self.name, name, other) for other in [*others, "devices"]]

    def rulings(self, pair: Pair, passphrase: Callable[[str], bool | Doubt]) -> Iterator[Ruling]:  # noqa: ARG002
        """Yield each planned isolation as one that cannot be told."""
        return ((setting, _FILTERS_UNREAD) for setting in pair.expected.isolation)
