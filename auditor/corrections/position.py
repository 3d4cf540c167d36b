"""Where a device stands in the plan: how far from the gateway, which ports lead where, and where it is managed."""

from __future__ import annotations

from collections import deque
from typing import Literal

from auditor.plan.loader import Plan

Leads = Literal["towards", "away", "link", ""]
"""Where a port leads: towards the gateway, away from it, to another device in an unknown direction, or to no device."""


class Position:
    """A device within the planned links.

    Attributes:
        device: its name.
        gateway: the name of the plan's gateway; empty where there is none.
        address: the planned address by which it is managed.
        managed_in: the VLAN of the subnet that this address is in.
        peers: the other end of each planned link, by device and port.
    """

    def __init__(self, plan: Plan, device: str) -> None:
        self.device = device
        self.gateway = plan.data.defaults.gateway or ""
        self.address = plan.data.devices[device].address
        self.managed_in = next(
            (subnet.vlan for subnet in plan.data.subnets.values() if self.address and self.address in subnet.prefix),
            None,
        )
        self.peers: dict[tuple[str, str], tuple[str, str]] = {}
        for one, other in plan.link_ends():
            self.peers[one], self.peers[other] = other, one
        self._steps = self._distances()

    def peer(self, port: str) -> tuple[str, str] | None:
        """Return device and port at the other end of a port's link."""
        return self.peers.get((self.device, port))

    def leads(self, port: str) -> Leads:
        """Return where a port leads."""
        peer = self.peer(port)
        if peer is None:
            return ""
        own, other = self._steps.get(self.device), self._steps.get(peer[0])
        if own is None or other is None or own == other:
            return "link"
        return "towards" if other < own else "away"

    @property
    def linked(self) -> set[str]:
        """The ports of the device that are ends of planned links."""
        return {port for device, port in self.peers if device == self.device}

    def _distances(self) -> dict[str, int]:
        """Return how many planned links each device is away from the gateway."""
        steps, waiting = {self.gateway: 0}, deque([self.gateway])
        while waiting:
            device = waiting.popleft()
            for (one, _), (other, _) in self.peers.items():
                if one == device and other not in steps:
                    steps[other] = steps[device] + 1
                    waiting.append(other)
        return steps
