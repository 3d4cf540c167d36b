"""What a plan says of one device, as the areas ask for it, and what they say of it beside the settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from ipaddress import IPv4Address

from auditor.core.addresses import host_range
from auditor.core.state import Port, Setting
from auditor.plan.loader import Plan
from auditor.plan.schema import Device, PortPlan, Subnet
from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from auditor.platforms.gaps import Gap, gap_of


class Planning:
    """One device of a plan.

    Attributes:
        plan: the plan.
        name, device: the device and its entry.
        platform: its dialect's data.
        vlans: the VLANs that it needs; ``vid`` adds one.
        unsaid: settings that the plan leaves open; ``leave_open`` adds some.
        lacking: planned settings that its dialect has no notion of, and why, where an area says them otherwise.
        carries_all, unlisted, passphrases, isolation: as Expected has them; their areas fill them in.
    """

    def __init__(self, plan: Plan, name: str) -> None:
        self.plan = plan
        self.name = name
        self.device: Device = plan.data.devices[name]
        self.platform: Platform = catalogue.get(self.device.platform)
        self.vlans: set[int] = set()
        self.unsaid: set[Setting] = set()
        self.lacking: dict[Setting, str] = {}
        self.carries_all: set[str] = set()
        self.unlisted: Port | None = None
        self.passphrases: dict[str, str] = {}
        self.isolation: list[Setting] = []

    @property
    def subnets(self) -> dict[str, Subnet]:
        """All subnets of the plan."""
        return self.plan.data.subnets

    @cached_property
    def routed(self) -> dict[str, Subnet]:
        """The subnets that the device routes."""
        return {name: s for name, s in self.subnets.items() if self.plan.gateway_of(s) == self.name}

    def ports(self) -> Iterable[tuple[str, PortPlan]]:
        """Return the planned ports of the device."""
        return self.plan.ports.get(self.name, {}).items()

    def uplinks(self) -> Iterator[tuple[str, PortPlan]]:
        """Yield those that lead to the carrier."""
        return ((name, port) for name, port in self.ports() if port.uplink)

    def vid(self, subnet: str) -> int:
        """Return the VLAN of a subnet that the device needs."""
        vid = self.subnets[subnet].vlan
        self.vlans.add(vid)
        return vid

    def lack(self, area: str, name: str = "") -> Gap | None:
        """Return why the device has no notion of an area or a setting, whatever its value; ``None`` where it has."""
        gap = gap_of(self.platform.lacks, Setting(area, "", name), self.device.role)
        return gap if gap and gap.whole else None

    def leave_open(self, area: str, key: object, *names: str) -> None:
        """Say that the plan leaves settings open."""
        self.unsaid.update(Setting(area, str(key), name) for name in names)


def gateway_address(subnet: Subnet) -> IPv4Address:
    """Return a subnet's gateway address: the planned one, or its first host."""
    return subnet.gateway.address or host_range(subnet.prefix)[0]
