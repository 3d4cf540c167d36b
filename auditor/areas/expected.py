"""What a device should be set to: an expected DeviceState, and what the plan says beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import IPv4Network

from auditor.core.state import KEYED_AREAS, DeviceState, Port, Setting, fields_of, items_of
from auditor.core.values import NO_VLANS


@dataclass(frozen=True)
class Expected:
    """What one device should be set to.

    Attributes:
        state: the expected settings.
        unsaid: settings that the plan leaves open; their value in ``state`` means nothing.
        carries_all: trunks that must carry every subnet of the plan, and no other VLAN that the device has.
        uplinks: ports that lead to the carrier.
        ignored_ports: ports that are not judged.
        routed: VLANs of the subnets that it routes.
        address: the address by which it is managed.
        unlisted: what ports must be that the plan does not list; ``None`` if they are not judged.
        passphrases: by Wi-Fi name, the environment variable that holds its passphrase.
        prefixes, wifi: the VLANs of all subnets of the plan by their prefixes, and of all its Wi-Fi names.
        isolation: ``isolation.<from>.<to>`` and ``isolation.<from>.devices``: that hosts of an isolated subnet that it
            routes open no connection to another subnet of the plan, nor to any address of a device.
        lacking: planned settings that the platform has no notion of, or not of their value, and why. Those of the first
            kind are not in ``state``.
    """

    device: str
    role: str
    platform: str
    state: DeviceState
    unsaid: frozenset[Setting] = frozenset()
    carries_all: frozenset[str] = frozenset()
    uplinks: frozenset[str] = frozenset()
    ignored_ports: frozenset[str] = frozenset()
    routed: frozenset[int] = frozenset()
    address: str | None = None
    unlisted: Port | None = None
    passphrases: dict[str, str] = field(default_factory=dict)
    prefixes: dict[IPv4Network, int] = field(default_factory=dict)
    wifi: dict[str, int] = field(default_factory=dict)
    isolation: tuple[Setting, ...] = ()
    lacking: Mapping[Setting, str] = field(default_factory=dict)

    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        """Every planned setting: each that has a value and is not left open."""
        return tuple(self._settings())

    def _settings(self) -> Iterator[Setting]:
        if self.state.hostname:
            yield Setting("hostname")
        for area in KEYED_AREAS:
            for key, item in items_of(self.state, area).items():
                filled = [Setting(area, key, name) for name in fields_of(area) if is_there(getattr(item, name))]
                judged = [setting for setting in filled if setting not in self.unsaid]
                yield from judged or [Setting(area, key)]
        for name in fields_of("management"):
            setting = Setting("management", "", name)
            if setting not in self.unsaid:
                yield setting
        yield from self.isolation


def is_there(value: object) -> bool:
    """Return whether a setting has a value: neither none, nor an empty set."""
    return value is not None and value not in ((), {}, NO_VLANS)
