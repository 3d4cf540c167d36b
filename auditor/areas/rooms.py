"""The list of all rooms, and the only one: whoever goes through the areas goes through it."""

from __future__ import annotations

from auditor.areas.area import Area
from auditor.areas.dhcp import Dhcp
from auditor.areas.gateways import Gateways
from auditor.areas.hostname import Hostname
from auditor.areas.isolation import Isolation
from auditor.areas.management import Management
from auditor.areas.ports import Ports
from auditor.areas.ssids import Ssids
from auditor.areas.uplinks import Uplinks
from auditor.areas.vlans import Vlans

ROOMS: tuple[Area, ...] = (
    Hostname(),
    Vlans(),
    Ports(),
    Gateways(),
    Dhcp(),
    Ssids(),
    Uplinks(),
    Management(),
    Isolation(),
)
"""In the order of reports."""
_BY_NAME = {room.name: room for room in ROOMS}


def room(area: str) -> Area:
    """Return the room of an area."""
    return _BY_NAME[area]
