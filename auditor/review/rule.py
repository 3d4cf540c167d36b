"""What a rule of the review is, what it looks at, and what it says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import IPv4Address
from typing import Literal

from auditor.areas import Expected, expected_of, gateway_address
from auditor.core.domains import Domain
from auditor.core.state import Port
from auditor.network.graph import KnownDevice, Network
from auditor.network.site import SiteNetwork
from auditor.plan.loader import Plan
from auditor.plan.schema import Subnet

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")
"""It cannot work; it will cause trouble; worth checking."""
KeyPath = tuple[str | int, ...]
Found = Iterator[tuple[KeyPath, str]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule about plans.

    Attributes:
        name: its id, the same in every version.
        sentence: what it demands.
        source: the standard that it is from, or "common practice".
        check: yields the place in the file and what is wrong there.
    """

    name: str
    level: Level
    sentence: str
    source: str
    check: Callable[[Subject], Found]


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that a rule has to say of a plan. ``line`` is 1-based; ``path`` leads to the key."""

    rule: Rule
    file: str
    line: int
    path: KeyPath
    text: str

    @property
    def key(self) -> str:
        """The key as it is written in messages."""
        return ".".join(str(part) for part in self.path)


@dataclass
class Subject:
    """A plan, and what rules want to know of it."""

    plan: Plan
    environment: Mapping[str, str] = field(repr=False)

    @property
    def subnets(self) -> dict[str, Subnet]:
        """The subnets by name."""
        return self.plan.data.subnets

    @cached_property
    def expected(self) -> dict[str, Expected]:
        """What each device should be set to."""
        return expected_of(self.plan)

    @cached_property
    def network(self) -> Network:
        """The network as planned."""
        return SiteNetwork(
            self.plan, {name: KnownDevice(expected, None) for name, expected in self.expected.items()}
        ).planned

    def gateways(self, subnet: Subnet) -> list[IPv4Address]:
        """Return the addresses that terminals may be sent to: the gateway's, and one that several share."""
        return [gateway_address(subnet), *([subnet.gateway.shared] if subnet.gateway.shared else [])]

    def name_of(self, vid: Domain) -> str:
        """Return what a VLAN is called: its subnet's name and its id."""
        found = self.plan.subnet_of(vid) if isinstance(vid, int) else None
        return f"{found[0]} (VLAN {vid})" if found else f"VLAN {vid}"

    @cached_property
    def links(self) -> list[tuple[int, tuple[str, str], tuple[str, str]]]:
        """The links: their number in the file, and device and port of both ends."""
        return [(number, one, other) for number, (one, other) in enumerate(self.plan.link_ends())]

    def port(self, end: tuple[str, str]) -> Port | None:
        """Return what a port should be; ``None`` if it is not judged."""
        return self.expected[end[0]].state.ports.get(end[1])

    def carried(self, end: tuple[str, str]) -> frozenset[int]:
        """Return the VLANs that a port should carry, tagged or not."""
        port = self.port(end)
        if port is None or not port.enabled:
            return frozenset()
        return frozenset({*port.tagged, *([port.untagged] if port.untagged else [])})
