"""What the network does for people: ``services_of`` and ``explained`` are the doors of this package."""

from __future__ import annotations

from collections.abc import Mapping

from auditor.core.service import Services
from auditor.network.effects import explained
from auditor.network.graph import KnownDevice
from auditor.network.leaks import Leaks
from auditor.network.links import link_report
from auditor.network.service_paths import Ways
from auditor.network.site import SiteNetwork
from auditor.plan.loader import Plan


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


__all__ = ["KnownDevice", "explained", "services_of"]
