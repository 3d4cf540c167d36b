"""Requests that snooping marks with where they came from (option 82, RFC 3046), on their way to the DHCP server.

Who gets such a request without the address of a relay in it (giaddr) may drop it: a switch that snoops, on a port that
it does not trust, and a relay or server that believes nobody's mark (RFC 3046, 2.1; common practice of IOS).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from auditor.areas import Expected
from auditor.network.graph import KnownDevice
from auditor.network.site import SiteNetwork
from auditor.plan.loader import Plan
from auditor.reading.source import Refs
from auditor.topology.snooping import Snooped

_DROPPED = (
    "requests in VLAN {vid} get option 82 here, and {device} drops those on {port}, which it does not trust: have it "
    "let them in, or leave the option out"
)
_NOT_BELIEVED = (
    "requests in VLAN {vid} get option 82 here, and {device} drops those that come with it and no relay's address: "
    "have it trust them, or leave the option out"
)


def dropped(
    plan: Plan, every: Mapping[str, Expected], snooped: Mapping[str, Snooped]
) -> Iterator[tuple[str, int, Refs, str]]:
    """Yield device, VLAN, lines and reason where requests are marked that somebody on their way drops for it.

    Args:
        plan: the plan.
        every: of each of its devices, what is planned.
        snooped: of each device that was read, what is snooped there.
    """
    marking = {vid for found in snooped.values() if found.marks for vid in found.vlans}
    if not marking:
        return
    site = SiteNetwork(plan, {name: KnownDevice(expected, None) for name, expected in every.items()})
    for subnet in plan.data.subnets.values():
        gateway, vid = plan.gateway_of(subnet), subnet.vlan
        if not gateway or vid not in marking or not subnet.dhcp or not (subnet.dhcp.pool or subnet.dhcp.relay):
            continue
        for way in site.planned.ways_from([(gateway, vid)]).values():
            here = snooped.get(way[-1][0])
            if not here or not here.marks or vid not in here.vlans or len(way) < 2:
                continue
            ports = [site.planned.hops[way[i - 1], way[i]] for i in range(1, len(way))]
            if not here.has_clients(vid, {far[1] for _, far in ports[-1]}):
                continue
            for device, port in ((near[0], near[1]) for links in reversed(ports) for near, _ in links):
                found = snooped.get(device)
                if found and found.drops_marked(port, vid):
                    yield way[-1][0], vid, here.vlans[vid], _DROPPED.format(vid=vid, device=device, port=port)
            server = snooped.get(gateway)
            if server and not server.believes_marked(vid):
                yield way[-1][0], vid, here.vlans[vid], _NOT_BELIEVED.format(vid=vid, device=gateway)
