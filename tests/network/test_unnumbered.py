"""Service paths over devices that have a bridge for each subnet: a tag leads where its VLAN interface is bridged.

The devices are those of tests/compare/test_unnumbered.py, linked. That a frame leaves a bridge by all its ports, and
comes into that bridge alone which its VLAN interface is on, is IEEE 802.1Q.
"""

from __future__ import annotations

from typing import Any

import pytest
import yaml

from auditor.core.report import Report
from auditor.plan.loader import parse
from tests.compare.site import Site
from tests.compare.test_unnumbered import SITES, plan_of

ROUTER, POINT = "mikrotik_routeros: router", "openwrt: access point"


def linked(*changes: tuple[str, str, str]) -> Report:
    """Return the audit of a router and an access point behind it, with some changes: device, old and new text."""
    plan: dict[str, Any] = plan_of(*SITES[ROUTER])
    point = plan_of(*SITES[POINT])
    plan["devices"]["ap1"] = {**point["devices"]["gw1"], "hostname": "gw1"}
    plan["links"] = [["gw1 ether2", "ap1 lan1"]]
    for wifi in plan["wifi"].values():
        wifi["on"] = ["gw1", "ap1"]
    files = {name: text.encode() for name, text in SITES[ROUTER][1]["captures"].items()}
    files |= {name.replace("gw1/", "ap1/"): text.encode() for name, text in SITES[POINT][1]["captures"].items()}
    for device, old, new in changes:
        found = [name for name, text in files.items() if name.startswith(device) and old.encode() in text]
        assert found, old
        files |= {name: files[name].replace(old.encode(), new.encode()) for name in found}
    return Site(parse("plan.yaml", yaml.safe_dump(plan, sort_keys=False).encode()), files).audited()


def states(report: Report) -> dict[tuple[str, str], str]:
    return {(path.device, place): path.state for path in report.services.paths for place in path.places or [""]}


def shared(report: Report) -> dict[str, list[str]]:
    return {each.subnet: each.shared_with for each in report.services.separated if each.shared_with}


def test_bridges_of_two_devices_are_one_domain_where_the_same_tag_leads_into_them():
    report = linked()
    assert {f.setting for f in report.findings} == set()
    assert set(states(report).values()) == {"reached"}
    assert (report.services.leaks, shared(report)) == ([], {})
    assert [(link.planned, link.observed, link.state) for link in report.services.links] == [
        ("10,40", "10,40", "as planned")
    ]


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        (("gw1", "bridge=bridge-guest interface=vlan40", "bridge=bridge-lan interface=vlan40"), {"Weir Guest"}),
        (("gw1", "add bridge=bridge-guest interface=vlan40\n", ""), {"Weir Guest"}),
        (("ap1", "\tlist ports 'lan1.40'\n", ""), {"Weir Guest"}),
        (("ap1", "option network 'guest'", "option network 'lan'"), {"Weir Guest"}),
        (("ap1", "\tlist ports 'lan1'\n", ""), {"Weir", ""}),
    ],
)
def test_a_path_ends_where_its_bridge_is_left(change: tuple[str, str, str], broken: set[str]):
    report = linked(change)
    assert report.verdict == "nonconforming"
    assert {
        place for (device, place), state in states(report).items() if device == "ap1" and state != "reached"
    } == broken


def test_a_tag_that_leads_into_the_other_bridge_joins_two_subnets():
    report = linked(("gw1", "bridge=bridge-guest interface=vlan40", "bridge=bridge-lan interface=vlan40"))
    assert shared(report) == {"office": ["guest"], "guest": ["office"]}
    assert {(leak.device, leak.place) for leak in report.services.leaks if leak.subnet == "office"} >= {
        ("ap1", "Weir Guest")
    }
