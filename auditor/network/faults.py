"""Where a service path stops on its planned way, which end of a link stops it, and what was not seen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from auditor.core.service import Fault
from auditor.core.state import Setting
from auditor.network.graph import End, Member, Node
from auditor.network.site import SiteNetwork


@dataclass(frozen=True)
class PathFaults:
    """Tells for one VLAN where it stops."""

    site: SiteNetwork
    vid: int

    def on_the_way(self, through: list[Node]) -> Iterator[Fault]:
        """Yield every place on a planned way where the VLAN does not get on, nearest first."""
        network, planned = self.site.assumed, self.site.planned
        for number, node in enumerate(through):
            if not network.exists(node):
                why = f"does not have {self.site.name_of(self.vid)}"
                yield Fault(device=node[0], why=why, settings=[Setting("vlans", str(self.vid))])
            if number + 1 < len(through) and not self._passes(node, through[number + 1]):
                for far, near in planned.hops[through[number + 1], node]:
                    yield from self._end(near)
                    yield from self._end(far)

    def _passes(self, one: Node, other: Node) -> bool:
        hops = self.site.assumed.hops
        return (one, other) in hops and (other, one) in hops

    def _end(self, end: End) -> Iterator[Fault]:
        """Yield why an end of a link does not carry the VLAN as planned; nothing where it does."""
        planned, port = self.site.planned.member(end), self.site.assumed.port(end)
        seen = self.site.assumed.member(end)
        wanted, found = _carried(planned, self.vid), _carried(seen, self.vid)
        if seen.open or (found if planned.open else wanted == found):
            return
        name = self.site.name_of(self.vid)
        if port is None:
            why = "is not in the capture"
        elif not port.enabled:
            why = "is switched off"
        elif not found:
            why = f"does not carry {name}"
        else:
            why = f"carries {name} {found}, not {wanted}" if wanted else f"carries {name}, but should not"
        yield Fault(device=end[0], place=end[1], why=why, settings=self.site.port_settings(end))

    def unknown(self, through: list[Node]) -> list[Fault]:
        """Return what was not seen on a planned path."""
        found = []
        for device in dict.fromkeys(device for device, _ in through):
            known = self.site.known[device]
            if known.observed is None:
                found.append(Fault(device=device, why="was not read"))
            elif not known.whole:
                found.append(Fault(device=device, why="is not completely shown by its capture"))
        return found

    def uncabled(self, device: str, gateway: str) -> Fault:
        """Return that the plan does not say how a device is linked with the gateway."""
        return Fault(device=device, why=f"has no planned link towards {gateway}")

    def planned_so(self, device: str, gateway: str) -> Fault:
        """Return that the plan itself has no way."""
        return Fault(device=device, why=f"has no planned path for {self.site.name_of(self.vid)} to {gateway}")


def _carried(member: Member, vid: int) -> str:
    if vid == member.untagged:
        return "untagged"
    return "tagged" if vid in member.tagged else ""
