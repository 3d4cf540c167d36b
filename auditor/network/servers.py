"""Servers that a device asks in a VRF in which it is not managed, so that they may stand on another network."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address

from auditor.areas import Expected, Reading
from auditor.core.state import Setting
from auditor.plan.loader import Plan
from auditor.reading.source import Refs
from auditor.topology.interfaces import IPV4

_APART = "{server} is asked in VRF {vrf}, and the device is managed in another one: check whether it is reached there"


def asked_apart(
    plan: Plan, every: Mapping[str, Expected], readings: Mapping[str, Reading]
) -> Iterator[tuple[str, Refs, str, Setting]]:
    """Yield device, lines, reason and setting of servers that are asked where the plan does not have the device.

    What has no way out of its VRF, or is on a network of another one, is not asked at all, and no matter here.
    That is a VRF other than the default one, in which are neither the device's planned address nor the server's
    network, nor, for what is outside of the plan, a planned uplink.

    Args:
        plan: the plan.
        every: of each of its devices, what is planned.
        readings: of those that were read, what was.
    """
    prefixes = [subnet.prefix for subnet in plan.data.subnets.values()]
    for device, reading in readings.items():
        expected = every[device]
        if expected.address is None or not IPV4.fullmatch(expected.address):
            continue
        own = reading.vrfs_at(expected.address)
        uplinks = {reading.vrf_of.get(Setting("uplinks", port)) for port in expected.state.uplinks}
        asked = reading.state.management
        for vrf, name, server, refs in reading.asked_in_vrfs():
            if server not in (getattr(asked, name) or ()):
                continue
            outside = IPV4.fullmatch(server) and not any(IPv4Address(server) in prefix for prefix in prefixes)
            if vrf not in own and not reading.is_beside(vrf, server) and not (outside and vrf in uplinks):
                yield device, refs, _APART.format(server=server, vrf=vrf), Setting("management", "", name)
