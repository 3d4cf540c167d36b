"""Proposals for flat networks: an untagged network's address never ends up on an interface that tags.

The sites and their drifts are those of tests/compare/test_vlan_one.py. What a proposal must do is as in
tests/drifts/proposals.py; it may settle more than it says where a port's VLAN comes back with its interface.
"""

from __future__ import annotations

import pytest

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
