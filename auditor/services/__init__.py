"""What the network does for people: ``services_of`` and ``explained`` are the doors of this package."""

from __future__ import annotations

from collections.abc import Mapping

from auditor.model.service import Services
from auditor.plan.loader import Plan
from auditor.services.effects import explained
from auditor.services.leaks import Leaks
from auditor.services.links import link_report
from auditor.services.network import Known
from auditor.services.site import Site
from auditor.services.ways import Ways


def services_of(plan: Plan, known: Mapping[str, Known]) -> Services:
    """Return every service path, leak and link of a site, and which of its subnets are apart.

    Args:
        plan: the plan.
        known: of each of its devices, what is known.
    """
    site = Site(plan, known)
    leaks = Leaks(site)
    return Services(
        paths=Ways(site).paths(),
        leaks=list(leaks.leaks()),
        apart=list(leaks.apart()),
        links=[link_report(site, link) for link in site.links],
    )


__all__ = ["Known", "explained", "services_of"]
