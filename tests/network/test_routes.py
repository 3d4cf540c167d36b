"""Static routes, as each platform writes them, and what they lead astray. How routers choose: RFC 1812, 5.2.4.3."""

from __future__ import annotations

import pytest

from auditor.platforms import catalogue
from tests.compare.site import conforming
from tests.conftest import FIXTURES
from tests.platforms.cases import reading_of

DISCARDED = "10.99.0.0/16"
CARRIER = {"203.0.113.5", "10.96.1.1"}
"""The next router of the cases called ``routes``: of firewalls, of switches."""


def routes_of(platform: str) -> dict[str, tuple[tuple[str, ...], bool, bool, int, str]]:
    every = reading_of(FIXTURES / "platforms" / platform / "routes").routes.every
    return {f"{r.vrf} {r.to}".strip(): (tuple(map(str, r.hops)), r.out, r.discards, r.distance, r.vrf) for r in every}


@pytest.mark.parametrize("platform", catalogue.names())
def test_routes_are_read(platform: str):
    found = routes_of(platform)
    assert set(found["0.0.0.0/0"][0]) <= CARRIER
    assert found["0.0.0.0/0"][0]
    assert found[DISCARDED][2]
    assert not [route for route in found if route.startswith("10.100.")], "it is off"


@pytest.mark.parametrize(
    ("platform", "route", "read"),
    [
        ("arista_eos", "10.97.0.0/16", (("10.96.1.1",), False, False, 20, "")),
        ("arista_eos", "10.98.0.0/16", ((), True, False, 240, "")),
        ("arista_eos", "LAB 0.0.0.0/0", (("10.96.9.1",), False, False, 1, "LAB")),
        ("aruba_aoscx", "10.97.0.0/16", (("10.96.1.1",), False, False, 20, "")),
        ("aruba_aoscx", "10.97.8.0/24", (("10.96.1.1",), False, False, 1, "")),
        ("aruba_aoscx", "10.98.0.0/16", ((), True, False, 1, "")),
        ("aruba_aoscx", "LAB 0.0.0.0/0", (("10.96.9.1",), False, False, 1, "LAB")),
        ("cisco_ios", "10.97.0.0/16", (("10.96.1.1",), False, False, 20, "")),
        ("cisco_ios", "10.98.0.0/16", ((), True, False, 240, "")),
        ("cisco_ios", "LAB 0.0.0.0/0", (("10.96.9.1",), False, False, 1, "LAB")),
        ("cisco_s300", "10.97.0.0/16", (("10.96.1.1",), False, False, 4, "")),
        ("cisco_s300", "10.98.0.0/16", (("10.96.1.1",), False, False, 1, "")),
        ("hp_procurve", "10.97.0.0/16", (("10.96.1.1",), False, False, 20, "")),
        ("hp_procurve", "10.98.0.0/16", ((), True, False, 240, "")),
        ("tplink_jetstream", "10.97.0.0/16", (("10.96.1.1",), False, False, 20, "")),
        ("fortinet", "10.97.0.0/16", (("203.0.113.5",), False, False, 20, "")),
        ("fortinet", "10.98.0.0/16", ((), True, False, 1, "")),
        ("juniper_junos", "10.97.0.0/16", (("203.0.113.5", "203.0.113.9"), False, False, 7, "")),
        ("juniper_junos", "10.98.0.0/16", ((), True, False, 1, "")),
        ("mikrotik_routeros", "10.97.0.0/16", (("203.0.113.5", "203.0.113.9"), False, False, 20, "")),
        ("mikrotik_routeros", "lab 10.98.0.0/16", ((), True, False, 1, "lab")),
        ("mikrotik_routeros", "10.99.8.0/24", ((), False, True, 1, "")),
        ("mikrotik_routeros", "10.102.0.0/16", ((), False, True, 1, "")),
        ("openwrt", "10.97.0.0/16", (("203.0.113.5",), False, False, 20, "")),
        ("openwrt", "10.98.0.0/16", ((), True, False, 1, "")),
        ("ubiquiti_edgerouter", "10.98.0.0/16", ((), True, False, 1, "")),
        ("vyos", "10.98.0.0/16", ((), True, False, 1, "")),
        ("vyos", "10.98.1.0/24", ((), True, False, 1, "")),
        ("vyos", "10.99.9.0/24", ((), False, True, 1, "")),
    ],
)
def test_how_a_route_is_read(platform: str, route: str, read: object):
    assert routes_of(platform)[route] == read


@pytest.mark.parametrize(
    ("route", "why"),
    [
        ("10.95.50.0/26 next-hop 10.95.99.2", ""),
        ("10.95.50.0/26 discard", "packets to 10.95.50.0/26 are discarded by this route"),
        ("10.95.50.0/26 next-hop 10.250.0.1", "sent to 10.250.0.1, which is in no network of this device"),
        ("10.95.50.0/26 next-hop 10.95.99.9", "sent to 10.95.99.9, and nothing in the plan has that address"),
        ("10.95.50.0/26 next-hop 10.95.99.1", "sent to 10.95.99.1, which is this device itself"),
        ("10.95.10.0/25 next-hop 203.0.113.9", "which is on a network of this device, are sent elsewhere"),
        ("10.95.50.64/26 next-hop 10.95.99.2", ""),
    ],
)
def test_a_route_that_leads_into_nothing_is_told(route: str, why: str):
    site = conforming("juniper_junos")
    old = "route 0.0.0.0/0 next-hop 203.0.113.9;"
    lines = f"{old}\n        route {route};"
    report = site.having("gw1.cfg", site.text("gw1.cfg").replace(old, lines)).audited()
    told = [item.why for item in report.unverified if "packets to" in item.why]
    assert report.findings == []
    assert all(why in text for text in told)
    assert (report.exit_code, bool(told)) == ((3, True) if why else (0, False))


def test_a_gateway_with_an_address_of_its_own_needs_a_way_out():
    site = conforming("juniper_junos")
    text = site.text("gw1.cfg").replace("        route 0.0.0.0/0 next-hop 203.0.113.9;\n", "")
    report = site.having("gw1.cfg", text).audited()
    told = {item.why.partition("): ")[2] for item in report.unverified if str(item.setting).startswith("uplinks.")}
    assert told == {"no route of this device leads to the carrier: check its routes"}
    assert report.exit_code == 3


IDLE = 'config router ospf\n    config redistribute "connected"\n    end\nend\n'
AREA = IDLE.replace("    end\nend\n", "    end\n    config area\n        edit 0.0.0.0\n        next\n    end\nend\n")


@pytest.mark.parametrize(("more", "learns"), [("", False), (IDLE, False), (AREA, True)])
def test_a_protocol_that_is_printed_and_not_used_tells_no_ways(more: str, learns: bool):
    site = conforming("fortinet")
    route = (
        'config router static\n    edit 1\n        set gateway 203.0.113.5\n        set device "wan1"\n    next\nend\n'
    )
    report = site.having("gw1.cfg", site.text("gw1.cfg").replace(route, more)).audited()
    assert report.findings == []
    assert report.exit_code == (0 if learns else 3)
