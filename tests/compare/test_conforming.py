"""Sites that conform before anything is changed, and a change that was approved.

The changes themselves are tried in tests/drifts.
"""

from __future__ import annotations

from datetime import date

import pytest

from tests.compare.site import MIXED, PLATFORM_SITES, SITES, conforming, edited, unseen


@pytest.mark.parametrize("name", [*SITES, MIXED, *PLATFORM_SITES])
def test_the_sites_conform_before_anything_is_changed(name):
    report = conforming(name).audited()
    assert (report.verdict, report.complete, report.exit_code) == ("conforming", True, 0)
    assert report.findings == []
    assert unseen(report) == []


@pytest.mark.parametrize(("day", "code"), [(date(2099, 12, 31), 0), (date(2100, 1, 1), 1)], ids=["until", "over"])
def test_an_approved_deviation_is_a_finding_that_does_not_count_until_it_is_over(day, code):
    site = conforming("quarry-road")
    file = "core1/show_running-config.txt"
    where = "interface GigabitEthernet1/0/7"
    text = edited(site.text(file), " switchport access vlan 10", " switchport access vlan 20", where)
    report = site.having(file, text).report(today=day, max_age=None)
    assert [(f.setting, f.observed) for f in report.findings] == [("ports.GigabitEthernet1/0/7.untagged", 20)]
    assert report.exit_code == code
