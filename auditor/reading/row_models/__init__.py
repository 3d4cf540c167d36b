"""The row models: what one record of a TextFSM template may say, in no dialect. Text becomes types here, once.

A template's ``Value ACCESS_VLAN`` fills the field ``access_vlan``; a Value that no model knows is an error in the
template. A template belongs to one *feature*, and a feature has one model below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, fields
from functools import cache
from typing import Any, Literal, get_args, get_type_hints

from pydantic import TypeAdapter

from auditor.core.values import VlanSet
from auditor.platforms.definition import Default
from auditor.reading.row_models.dhcp import (
    DhcpExclusionRow,
    DhcpNetworkRow,
    DhcpOptionRow,
    DhcpRangeRow,
    DhcpReservationRow,
    DhcpScopeRow,
    RelayRow,
)
from auditor.reading.row_models.row import Row
from auditor.reading.row_models.switching import ChipPortRow, ChipVlanRow, InterfaceRow, VlanRow, ZoneRow
from auditor.reading.row_models.system import RouteRow, SystemRow
from auditor.reading.row_models.wifi import AccessPointRow, RadioRow, WifiGroupRow, WifiRow, WifiRuleRow


@dataclass(slots=True)
class ReadRows:
    """All rows of a capture by feature. A template's file name is its feature, or ``<feature>.<variant>``."""

    interface: list[InterfaceRow] = field(default_factory=list)
    vlan: list[VlanRow] = field(default_factory=list)
    zone: list[ZoneRow] = field(default_factory=list)
    chip_vlan: list[ChipVlanRow] = field(default_factory=list)
    chip_port: list[ChipPortRow] = field(default_factory=list)
    dhcp_scope: list[DhcpScopeRow] = field(default_factory=list)
    dhcp_network: list[DhcpNetworkRow] = field(default_factory=list)
    dhcp_range: list[DhcpRangeRow] = field(default_factory=list)
    dhcp_exclusion: list[DhcpExclusionRow] = field(default_factory=list)
    dhcp_reservation: list[DhcpReservationRow] = field(default_factory=list)
    dhcp_option: list[DhcpOptionRow] = field(default_factory=list)
    relay: list[RelayRow] = field(default_factory=list)
    wifi: list[WifiRow] = field(default_factory=list)
    wifi_profile: list[WifiRow] = field(default_factory=list)
    radio: list[RadioRow] = field(default_factory=list)
    wifi_group: list[WifiGroupRow] = field(default_factory=list)
    wifi_rule: list[WifiRuleRow] = field(default_factory=list)
    access_point: list[AccessPointRow] = field(default_factory=list)
    system: list[SystemRow] = field(default_factory=list)
    route: list[RouteRow] = field(default_factory=list)

    def of(self, feature: str) -> list[Row]:
        """Return the rows of a feature, to be added to: they are of its model."""
        found: list[Row] = getattr(self, feature)
        return found

    def __iter__(self) -> Iterator[Row]:
        return (row for each in fields(self) for row in self.of(each.name))


FEATURES: dict[str, type[Row]] = {name: get_args(rows)[0] for name, rows in get_type_hints(ReadRows).items()}
"""Feature to row model."""

Feature = Literal["interface", "dhcp_scope", "wifi", "radio", "system"]
DEFAULTED: tuple[Feature, ...] = get_args(Feature)
"""The features in which lines that are not there mean something."""

RowDefaults = dict[Feature, list[Default]]
"""What lines that are not there mean in this capture, by feature."""

PORT_LISTS = frozenset(
    {"members", "tagged_ports", "untagged_ports", "pvid_ports", "removed_ports", "not_tagged", "forbidden_ports"}
)
"""Fields that list ports; where a dialect writes ranges of them, each port of a range is listed."""


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{value!r} is no text")  # noqa: TRY004 - as whatever else is no value of a field
    return value


def together(first: Any, more: Any) -> Any:
    """Return two values of a list field as one."""
    return VlanSet(first | more) if isinstance(first, VlanSet) else first + more


@cache
def converters(feature: str) -> dict[str, Callable[[Any], Any]]:
    """Return for each field of a feature what turns text into its type; raises ValueError for what is no such thing."""
    return {
        name: _text if kind is str else TypeAdapter(kind).validate_python
        for name, kind in FEATURES[feature].types().items()
    }
