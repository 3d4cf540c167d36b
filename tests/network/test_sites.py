"""Generated sites show everything that can come of a site, so that what is compared on them is compared in earnest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest
from hypothesis import given, settings

from tests.network import flood
from tests.network.flood import Network
from tests.network.site import Site
from tests.network.sites import sites

WANTED = {
    "reached", "broken", "unverified", "one-way",
    "port leak", "wifi leak", "device leak",
    "separated", "shared",
    "loop", "two gateways", "no gateway", "every device as planned",
}  # fmt: skip


def seen_in(site: Site) -> Iterator[str]:
    verdicts = flood.verdicts(site)
    for service, verdict in verdicts.items():
        yield verdict.state
        if len(set(flood.directions(site, service, Network(site.assumed, site.cables)))) == 2:
            yield "one-way"
    yield from (f"{leak.kind} leak" for leak in flood.leaks(site))
    yield from (state for state, _ in flood.separated(site).values() if state != "unverified")
    if len(site.plan.data.links) >= len(site.observed):
        yield "loop"
    routers = {site.plan.gateway_of(subnet) for subnet in site.subnets.values()}
    if len(routers - {None}) == 2:
        yield "two gateways"
    if None in routers:
        yield "no gateway"
    if all(found.state == site.observed[name] for name, found in site.expected.items()):
        yield "every device as planned"


@pytest.mark.slow
def test_generated_sites_show_all_that_can_be():
    """Each in five sites of 400 at least, so that 1,000 sites do not meet it by chance alone."""
    seen: Counter[str] = Counter()

    @settings(max_examples=400)
    @given(sites())
    def look(site: Site) -> None:
        seen.update(set(seen_in(site)))

    look()
    assert {name: seen[name] for name in WANTED if seen[name] < 5} == {}
