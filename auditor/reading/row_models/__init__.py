"""The row models: what one record of a TextFSM template may say, in no dialect. Text becomes types here, once.

A template's ``Value ACCESS_VLAN`` fills the field ``access_vlan``; a Value that no model knows is an error in the
template. A template belongs to one *feature*, and a feature has one model below.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Annotated, Any

from pydantic import TypeAdapter

from auditor.core.values import VlanSet
from auditor.reading.row_models.dhcp import (
    DhcpExclusionRow,
    DhcpNetworkRow,
    DhcpOptionRow,
    DhcpRangeRow,
    DhcpReservationRow,
    DhcpScopeRow,
    RelayRow,
)
from auditor.reading.row_models.row import Layer3Fields, Row
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.row_models.system import SystemRow
from auditor.reading.row_models.wifi import RadioRow, WifiRow

FEATURES: dict[str, type[Row]] = {
    "interface": InterfaceRow,
    "vlan": VlanRow,
    "dhcp_scope": DhcpScopeRow,
    "dhcp_network": DhcpNetworkRow,
    "dhcp_range": DhcpRangeRow,
    "dhcp_exclusion": DhcpExclusionRow,
    "dhcp_reservation": DhcpReservationRow,
    "dhcp_option": DhcpOptionRow,
    "relay": RelayRow,
    "wifi": WifiRow,
    "wifi_profile": WifiRow,
    "radio": RadioRow,
    "system": SystemRow,
}
"""Feature to row model. A template's file name is its feature, or ``<feature>.<variant>``."""

PORT_LISTS = frozenset({"members", "tagged_ports", "untagged_ports"})
"""Fields that list ports; where a dialect writes ranges of them, each port of a range is listed."""
LAYER3 = frozenset(Layer3Fields.model_fields) - frozenset(Row.model_fields)
"""The fields of a layer-3 interface."""


def _text(value: str) -> str:
    return value


def together(first: Any, more: Any) -> Any:
    """Return two values of a list field as one."""
    return VlanSet(first | more) if isinstance(first, VlanSet) else first + more


@cache
def converters(feature: str) -> dict[str, Callable[[Any], Any]]:
    """Return for each field of a feature what turns text into its type; raises ValueError for what is no such thing."""
    found: dict[str, Callable[[Any], Any]] = {}
    for name, field in FEATURES[feature].model_fields.items():
        annotation: Any = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
        found[name] = _text if annotation is str else TypeAdapter(annotation).validate_python
    return found
