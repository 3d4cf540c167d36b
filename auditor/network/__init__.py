"""What the network does for people: ``services_of``, ``explained`` and ``overridden`` are its doors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain

from auditor.areas import Expected, Reading
from auditor.core.service import Services
from auditor.core.state import Setting
from auditor.network.bundles import unmet
from auditor.network.effects import explained
from auditor.network.graph import KnownDevice
from auditor.network.leaks import Leaks
from auditor.network.links import link_report
from auditor.network.marked_requests import dropped
from auditor.network.routes import misled
from auditor.network.servers import asked_apart
from auditor.network.service_paths import Ways
from auditor.network.site import SiteNetwork
from auditor.network.snooping import answered, unanswered, unbelieved
from auditor.plan.loader import Plan
from auditor.reading.source import Refs


def services_of(plan: Plan, known: Mapping[str, KnownDevice]) -> Services:
    """Return every service path, leak and link of a site, and which of its subnets are apart.

    Args:
        plan: the plan.
        known: of each of its devices, what is known.
    """
    site = SiteNetwork(plan, known)
    leaks = Leaks(site)
    return Services(
        paths=Ways(site).paths(),
        leaks=list(leaks.leaks()),
        separated=list(leaks.separated()),
        links=[link_report(site, link) for link in site.links],
    )


def overridden(
    plan: Plan, every: Mapping[str, Expected], readings: Mapping[str, Reading]
) -> Iterator[tuple[str, Refs, str, Setting]]:
    """Yield what does not work for what is read of other devices: device, lines, why, and the setting.

    Args:
        plan: the plan.
        every: of each of its devices, what is planned.
        readings: of those that were read, what was.
    """
    made = {device: reading.aggregations for device, reading in readings.items()}
    for (device, port), here, why in unmet(plan.link_ends(), made):
        yield device, here.refs, why, Setting("ports", port, "enabled")
    guarding = {device: reading.snooped for device, reading in readings.items()}
    snooped = {device: found for device, found in guarding.items() if found.used}
    if snooped:
        lost = (
            dropped(plan, every, guarding),
            unanswered(answered(plan, every), snooped),
            unbelieved(plan, every, snooped),
        )
        for device, vid, refs, why in chain.from_iterable(lost):
            yield device, refs, why, Setting("vlans", str(vid))
    yield from asked_apart(plan, every, readings)
    routes = {device: reading.routes for device, reading in readings.items()}
    yield from misled(plan, every, routes, lambda device, setting: readings[device].refs_of(setting))


__all__ = ["KnownDevice", "explained", "overridden", "services_of"]
