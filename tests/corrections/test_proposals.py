"""Each proposal tried on the capture that it was made for: its finding goes, none comes, and its undo brings it back.

The stand-ins for devices know by themselves what a command does (tests/corrections/appliers). A platform without
rules for them in fixtures/corrections is left out, and may have no template either.
"""

from __future__ import annotations

import pytest

from auditor.corrections.propose import BY_HAND, TEMPLATE
from auditor.platforms import catalogue
from tests.corrections.appliers import rules_of
from tests.corrections.proof import PLATFORMS, drifts, drifts_of, found_in, unread, whole_sites

TRIED = [drift for platform in PLATFORMS for drift in drifts_of(platform)] + list(whole_sites().values())
PROPOSALS = [
    pytest.param(drift.name, finding.setting, id=f"{drift.platform}: {drift.name}: {finding.setting}")
    for drift in TRIED
    for finding in drift.findings
    if finding.proposed
]
EVERY = [pytest.param(drift.name, id=f"{drift.platform}: {drift.name}") for drift in TRIED]


def test_a_platform_has_a_template_where_it_has_rules_to_try_it():
    written = {name for name in catalogue.names() if catalogue.has_template(name, TEMPLATE)}
    assert written == set(PLATFORMS)


@pytest.mark.parametrize(("name", "setting"), PROPOSALS)
def test_a_proposal_settles_what_it_says_and_nothing_else(name, setting):
    drift = drifts()[name]
    finding = next(f for f in drift.findings if f.setting == setting)
    assert finding.proposed is not None
    before = found_in(drift.report)
    settled = {f"{drift.device} {each}" for each in (setting, *finding.proposed.settles)}
    after = drift.with_commands(finding, drift.site, finding.proposed.commands)
    report = after.report()
    assert found_in(report) == {key: told for key, told in before.items() if key not in settled}
    assert unread(report) == unread(drift.report)
    undone = drift.with_commands(finding, after, finding.proposed.undo).report()
    assert found_in(undone) == before
    assert unread(undone) == unread(drift.report)


@pytest.mark.parametrize("name", EVERY)
def test_all_proposals_of_a_device_together_settle_all_that_they_say(name):
    drift = drifts()[name]
    site, left = drift.site, found_in(drift.report)
    for finding in drift.findings:
        if finding.proposed is None:
            continue
        site = drift.with_commands(finding, site, finding.proposed.commands)
        for each in (finding.setting, *finding.proposed.settles):
            left.pop(f"{drift.device} {each}", None)
    assert found_in(site.report()) == left


@pytest.mark.parametrize("name", EVERY)
def test_each_finding_has_commands_or_the_reason_why_not(name):
    for finding in drifts()[name].findings:
        assert (finding.proposed is None) == bool(finding.by_hand)
        assert not finding.by_hand.startswith((BY_HAND["broken"], BY_HAND["no template"]))


@pytest.mark.parametrize("platform", PLATFORMS)
def test_as_many_findings_as_ever_have_a_proposal(platform):
    findings = [finding for drift in drifts_of(platform) for finding in drift.findings]
    given = [finding for finding in findings if finding.proposed]
    assert len(findings) >= rules_of(platform)["findings"]
    assert len(given) >= rules_of(platform)["given"]
    assert len(findings) - len(given) <= rules_of(platform)["findings"] - rules_of(platform)["given"]
