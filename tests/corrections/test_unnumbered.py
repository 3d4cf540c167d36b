"""Proposals at devices whose bridges have no numbers: they settle what they are for, or there is none.

The sites and their drifts are those of tests/compare/test_unnumbered.py. What a proposal must do is as in
tests/drifts/proposals.py.
"""

from __future__ import annotations

import pytest

from tests.compare.test_unnumbered import DRIFTS, SITES, changed
from tests.corrections.proof import PLATFORMS, Drift, found_in, seen, unread


@pytest.mark.parametrize(("name", "told"), DRIFTS, ids=[f"{name}: {drift['case']}" for name, drift in DRIFTS])
def test_a_proposal_settles_its_finding_or_is_withheld(name, told):
    platform = SITES[name][0]
    drift = Drift(told["case"], changed(name, told), "gw1", platform)
    report = drift.site.report()
    assert report.devices[0].outcome == "audited", report.devices[0].reason
    before = found_in(report)
    for finding in report.findings:
        assert finding.proposed or finding.by_hand
        if finding.key.startswith("bridge "):
            assert "no VLAN numbers in" in finding.by_hand
        if finding.proposed is None or platform not in PLATFORMS:
            continue
        after = drift.with_commands(finding, drift.site, finding.proposed.commands)
        left = seen(after).found
        assert left.items() <= before.items(), finding.setting
        assert f"gw1 {finding.setting}" not in left
        assert seen(after).unread == unread(report)
        assert seen(drift.with_commands(finding, after, finding.proposed.undo)).found == before
