"""What a capture shows of a device: its settings, its packet filters, and what it says of itself.

Filters and facts stand outside of the round-trip law. No platform's templates fill them yet.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.core.state import DeviceState


@dataclass(frozen=True, slots=True)
class FilterRow:
    """One row of a packet filter, in its place among the others: rows are tried from the first to the last.

    Attributes:
        filter: the filter's name.
        action: what becomes of a packet that matches: ``permit`` or ``deny``.
        sources, destinations: prefixes; empty for all.
        services: ``protocol`` or ``port/protocol``; empty for all.
        file, line: where the row stands.
    """

    filter: str
    action: str
    sources: tuple[str, ...] = ()
    destinations: tuple[str, ...] = ()
    services: tuple[str, ...] = ()
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True)
class DeviceFacts:
    """What a device says of itself, whatever a plan does: never a setting, and never a reason for an exit code."""

    model: str | None = None
    serial: str | None = None
    software: str | None = None
    neighbours: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Observed:
    """What a capture shows of one device."""

    settings: DeviceState
    filters: tuple[FilterRow, ...] = ()
    facts: DeviceFacts = DeviceFacts()
