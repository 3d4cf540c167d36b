"""Service paths, leaks and what is apart, beside an independent reckoning: single frames through the same site."""

from __future__ import annotations

from hypothesis import given, settings

from auditor.core.service import Leak, Separation, ServicePath, Services
from auditor.network import KnownDevice, services_of
from tests.effort import amount
from tests.network import flood
from tests.network.flood import LeakAt, Service, Verdict
from tests.network.site import Site
from tests.network.sites import sites


def told_of(site: Site) -> Services:
    """Return what the library says of a site."""
    known = {name: KnownDevice(expected, site.observed[name]) for name, expected in site.expected.items()}
    return services_of(site.plan, known)


def paths_of(told: Services) -> dict[Service, Verdict]:
    """Return the verdict of each single place; paths are told for places that fare alike."""
    found: dict[Service, Verdict] = {}
    for path in told.paths:
        for place in path.places or [""]:
            service = Service(path.kind, path.device, place, path.subnet)
            assert service not in found, "told twice"
            found[service] = Verdict(path.way, path.gateway, path.dhcp, path.state)
    return found


@settings(max_examples=amount(quick=25, ci=200, long=1000))
@given(sites())
def test_what_is_told_is_what_frames_do(site: Site):
    told = told_of(site)
    assert paths_of(told) == flood.verdicts(site)
    assert {LeakAt(leak.vlan, leak.kind, leak.device, leak.place) for leak in told.leaks} == flood.leaks(site)
    assert {part.subnet: (part.state, frozenset(part.shared_with)) for part in told.separated} == flood.separated(site)
    vlans = {name: subnet.vlan for name, subnet in site.subnets.items()}
    parts: list[ServicePath | Leak | Separation] = [*told.paths, *told.leaks, *told.separated]
    assert all(part.vlan == vlans[part.subnet] for part in parts)
