"""A site to be reckoned with: its plan, what is planned of each device, and what was observed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from hypothesis.vendor.pretty import RepresentationPrinter

from auditor.areas import Expected
from auditor.core.state import DeviceState, Port
from auditor.plan.loader import Plan
from auditor.plan.schema import Subnet


class End(NamedTuple):
    """One end of a cable."""

    device: str
    port: str


@dataclass(frozen=True, repr=False)
class Site:
    """A plan, and what was observed of each of its devices; none where a device was not read."""

    plan: Plan
    expected: dict[str, Expected]
    observed: dict[str, DeviceState | None]
    faults: tuple[str, ...] = ()

    @property
    def read(self) -> dict[str, DeviceState]:
        """The devices that were read, as they were observed."""
        return {name: state for name, state in self.observed.items() if state is not None}

    @property
    def assumed(self) -> dict[str, DeviceState]:
        """All devices, those that were not read as they were planned."""
        return {name: state or self.expected[name].state for name, state in self.observed.items()}

    @cached_property
    def cables(self) -> dict[End, list[End]]:
        """For each end of a planned link the far ends."""
        far: dict[End, list[End]] = defaultdict(list)
        for one, other in self.plan.data.links:
            a, b = _end(one), _end(other)
            far[a].append(b)
            far[b].append(a)
        return far

    def __repr__(self) -> str:
        """Show the plan and the faults: what a person wants to see of a site that fails."""
        lines = [f"subnet {name}: {subnet.vlan} by {subnet.gateway.on}" for name, subnet in self.subnets.items()]
        lines += [f"wifi {name}: {wifi.subnet} on {wifi.on}" for name, wifi in self.plan.data.wifi.items()]
        for name, expected in self.expected.items():
            lines.append(f"{name} ({expected.platform}, {self.plan.data.devices[name].address})")
            lines += [f"    {port}: {_shown(planned)}" for port, planned in expected.state.ports.items()]
        lines += [f"link {' - '.join(ends)}" for ends in self.plan.data.links]
        return "\n".join(["Site:", *lines, *(f"fault {fault}" for fault in self.faults)])

    def _repr_pretty_(self, printer: RepresentationPrinter, cycle: bool) -> None:
        """Have Hypothesis show a site so too, instead of all fields of all states."""
        printer.text(repr(self))

    @property
    def subnets(self) -> dict[str, Subnet]:
        """The plan's subnets by name."""
        return self.plan.data.subnets


def _end(text: str) -> End:
    device, _, port = text.partition(" ")
    return End(device, port)


def _shown(port: Port) -> str:
    off = "" if port.enabled else "off "
    return f"{off}{port.mode} untagged {port.untagged} tagged {port.tagged} voice {port.voice}"
