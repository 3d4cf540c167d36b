"""What a plan calls things, for sentences: VLANs as people know them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from auditor.core.values import VlanSet
from auditor.plan.loader import Plan
from auditor.plan.schema import Subnet


@dataclass(frozen=True, slots=True)
class SiteNames:
    """The names of a plan."""

    plan: Plan

    def subnet(self, vid: Any) -> tuple[str, Subnet] | None:
        """Return the subnet of a VLAN, with its name."""
        return self.plan.subnet_of(vid) if isinstance(vid, int) else None

    def net(self, vid: Any) -> str:
        """Name a VLAN as people know it: the subnet's name and its id."""
        if vid is None:
            return "no VLAN"
        if isinstance(vid, str):
            return vid
        found = self.subnet(vid)
        return f"{found[0]} (VLAN {vid})" if found else f"VLAN {vid}"

    def nets(self, vids: VlanSet) -> str:
        """Name several VLANs, those that no subnet has as a list."""
        known = [self.net(vid) for vid in sorted(vids) if self.subnet(vid)]
        others = VlanSet(vid for vid in vids if not self.subnet(vid))
        return ", ".join([*known, *([f"VLAN {others}"] if others else [])])
