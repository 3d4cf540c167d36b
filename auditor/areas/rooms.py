"""The list of all rooms, and the only one: whoever goes through the areas goes through it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from auditor.areas.area import Area
from auditor.areas.dhcp import DhcpArea
from auditor.areas.gateways import GatewaysArea
from auditor.areas.hostname import HostnameArea
from auditor.areas.isolation import IsolationArea
from auditor.areas.management import ManagementArea
from auditor.areas.ports import PortsArea
from auditor.areas.ssids import SsidsArea
from auditor.areas.uplinks import UplinksArea
from auditor.areas.vlans import VlansArea
from auditor.core.state import DeviceState

ROOMS: tuple[Area, ...] = (
    HostnameArea(),
    VlansArea(),
    PortsArea(),
    GatewaysArea(),
    DhcpArea(),
    SsidsArea(),
    UplinksArea(),
    ManagementArea(),
    IsolationArea(),
)
"""In the order of reports."""
_BY_NAME = {room.name: room for room in ROOMS}


def state_of(said: Mapping[str, Any]) -> DeviceState:
    """Return the state of a device from what each area says of it; ``None`` is no part of one."""
    return DeviceState(**{area: items for area, items in said.items() if items is not None})


def room(area: str) -> Area:
    """Return the room of an area."""
    return _BY_NAME[area]
