"""Proposals for flat networks: an untagged network's address never ends up on an interface that tags.

The sites and their drifts are those of tests/compare/test_vlan_one.py. What a proposal must do is as in
tests/drifts/proposals.py; it may settle more than it says where a port's VLAN comes back with its interface.
"""

from __future__ import annotations

import pytest

from auditor.core.report import Finding
from auditor.corrections.withheld import say
from tests.compare.test_vlan_one import SITES, changed
from tests.corrections.proof import PLATFORMS, Drift, found_in, seen, unread
from tests.effort import share


@pytest.mark.parametrize(
    "name", share([name for name, (platform, _) in SITES.items() if platform in PLATFORMS], quick=4)
)
def test_a_proposal_settles_its_finding_and_brings_none(name):
    tried = [Drift(told["case"], site, "gw1", SITES[name][0]) for told, site in changed(name, SITES[name][1]["drifts"])]
    for drift in tried:
        report = drift.site.report()
        before = found_in(report)
        for finding in report.findings:
            assert finding.proposed or finding.by_hand
            if finding.proposed is None:
                continue
            after = drift.with_commands(finding, drift.site, finding.proposed.commands)
            left = seen(after).found
            assert left.items() <= before.items(), (drift.name, finding.setting)
            assert f"gw1 {finding.setting}" not in left, drift.name
            assert seen(after).unread == unread(report)
            assert seen(drift.with_commands(finding, after, finding.proposed.undo)).found == before, drift.name


def tried(name: str, old: str, new: str) -> dict[str, Finding]:
    """Return what is found at a flat site with one change."""
    ((_, site),) = changed(name, [{"old": old, "new": new}])
    return {finding.setting: finding for finding in site.report().findings}


def test_a_port_is_not_put_into_a_vlan_by_a_name_that_another_one_has():
    found = tried("juniper_junos: flat", "vlans default vlan-id 1\n", "vlans default vlan-id 7\n")
    for port in ("ge-0/0/1", "ge-0/0/2"):
        finding = found[f"ports.{port}.untagged"]
        assert finding.proposed is None
        assert finding.by_hand == say("name taken", section="vlans default")


def test_a_port_that_left_a_plain_bridge_is_put_in_again():
    line = "add bridge=bridge comment=defconf interface=ether3\n"
    found = tried("mikrotik_routeros: flat", line, "")
    assert {finding.proposed.commands[0] for finding in found.values() if finding.proposed} == {
        "/interface bridge port add bridge=bridge interface=ether3"
    }


def test_an_address_of_a_plain_bridge_is_not_said_to_lack_a_line_of_its_table():
    line = "add address=192.168.77.1/24 comment=defconf interface=bridge network=192.168.77.0\n"
    assert "does not filter VLANs" in tried("mikrotik_routeros: flat", line, "")["gateways.1"].by_hand
