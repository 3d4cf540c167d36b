"""What passes a planned link: as planned, stopped, or leaking."""

from __future__ import annotations

from typing import NamedTuple

from auditor.core.domains import Domain, domains_text
from auditor.core.service import LinkReport, LinkState
from auditor.network.graph import Link, Network
from auditor.network.site import SiteNetwork


def link_report(site: SiteNetwork, link: Link) -> LinkReport:
    """Return what passes a link beside what should."""
    planned = _through(site.planned, link)
    seen = _through(site.confirmed, link)
    known = seen == _through(site.assumed, link) and all(site.known[end[0]].observed for end in link)
    stopped: set[Domain] = {vid for vid in planned.both if vid not in seen.both}
    leaking = {vid for pair in seen.any - planned.any for vid in pair}
    state: LinkState = "as planned"
    if not known:
        state = "unverified"
    elif leaking:
        state = "leaking"
    elif stopped:
        state = "stopped"
    return LinkReport(
        ends=link,
        planned=domains_text(planned.both),
        observed=domains_text(seen.both) if known else None,
        stopped=domains_text(stopped) if known else "",
        leaking=domains_text(leaking),
        state=state,
    )


class _Through(NamedTuple):
    """The VLANs that pass a link.

    Attributes:
        both: those that pass unchanged, there and back.
        any: pairs of a VLAN at the first end and at the other, that frames pass between in some direction.
    """

    both: frozenset[Domain]
    any: frozenset[tuple[Domain, Domain]]


def _through(network: Network, link: Link) -> _Through:
    there = set(network.passes(link[0], link[1]))
    back = {(a, b) for b, a in network.passes(link[1], link[0])}
    return _Through(frozenset(a for a, b in there & back if a == b), frozenset(there | back))
