"""One realistic change in a capture that conformed: audited once, and everything that must hold of it.

The cases are data, in fixtures/drifts/drift-*.yaml and in a folder of its own for each platform. Facts of a dialect
that are not plain from the changed line have their source beside the case; the rest is common practice. Consequences
are those that the report's words stand for. A platform without rules for its commands in fixtures/corrections has no
proposals tried, and may have no template for them either.
"""

from __future__ import annotations

from functools import cache

import pytest

from auditor.corrections.propose import TEMPLATE
from auditor.platforms import catalogue
from tests.checks import hold
from tests.compare.site import drift_cases
from tests.corrections.appliers import rules_of
from tests.corrections.proof import PLATFORMS, WHOLE_SITES, drift, names, whole_site
from tests.drifts import effects, findings, proposals
from tests.effort import share

QUICK = 12
"""Of so many drifts one has its proposals tried in the quick loop."""


@cache
def tried() -> frozenset[str]:
    """Return the names of the drifts whose proposals are tried."""
    return frozenset(share(names(), quick=QUICK))


@pytest.mark.parametrize("name", names())
def test_a_drift_is_told_and_its_proposals_mend_it(name):
    case = drift(name, with_proposals=name in tried())
    more = proposals.CHECKS if case.with_proposals and case.platform in PLATFORMS else ()
    hold((*findings.CHECKS, *effects.CHECKS, *more), case)


@pytest.mark.slow
@pytest.mark.parametrize("site", WHOLE_SITES)
def test_proposals_for_many_drifts_at_once_mend_them(site):
    for device in whole_site(site):
        hold(proposals.CHECKS, device, device.name)


def test_the_drifts_show_every_consequence():
    told = {finding["consequence"] for case in drift_cases() for finding in case["findings"]}
    assert told == {"exposure", "outage", "upkeep"}


def test_a_platform_has_a_template_where_it_has_rules_to_try_it():
    written = {name for name in catalogue.names() if catalogue.has_template(name, TEMPLATE)}
    assert written == set(PLATFORMS)


@pytest.mark.parametrize("platform", PLATFORMS)
def test_proposals_of_every_platform_are_tried(platform):
    """Which findings have none is written down, and held against each drift; here, that others are left."""
    mine = {name: case for name in names() if (case := drift(name)).platform == platform}
    without = rules_of(platform)["without"]
    assert set(without) <= set(mine)
    all_findings = [(name, finding["setting"]) for name, case in mine.items() for finding in case.case["findings"]]
    given = {setting.partition(".")[0] for name, setting in all_findings if setting not in without.get(name, ())}
    assert len(all_findings) >= rules_of(platform)["findings"]
    assert given & set(proposals.ENTERED)
