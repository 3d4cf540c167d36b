"""One realistic change in a capture that conformed: exactly the findings that it means, with evidence, and exit 1.

The cases are data, in fixtures/drifts/drift-*.yaml and in a folder of its own for each platform. Facts of a dialect
that are not plain from the changed line have their source beside the case; the rest is common practice. Consequences
are those that the report's words stand for.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

import pytest

from auditor.core.report import Finding, Report
from tests.compare.site import (
    DRIFTS,
    MIXED,
    PLATFORM_SITES,
    SITES,
    Site,
    case_id,
    cases,
    changed,
    conforming,
    device_of,
    edited,
    new_lines,
    unseen,
)

CASES = cases(*sorted(DRIFTS.glob("drift-*.yaml")), *sorted(DRIFTS.glob("*/drift.yaml")))
each_drift = pytest.mark.parametrize("case", CASES, ids=case_id)


@cache
def _report(case: str) -> tuple[Site, str, Report]:
    site, file = changed(next(one for one in CASES if case_id(one) == case))
    return site, file, site.report()


def audited(case: dict[str, Any]) -> tuple[Site, str, Report]:
    """Return the site of a case, the file that its changes are in, and its report."""
    return _report(case_id(case))


def told(finding: Finding) -> dict[str, object]:
    """Return what a case says of a finding."""
    return {
        "setting": finding.setting,
        "kind": finding.kind,
        "expected": finding.expected,
        "observed": finding.observed,
        "consequence": finding.consequence,
    }


@pytest.mark.parametrize("name", [*SITES, MIXED, *PLATFORM_SITES])
def test_the_sites_conform_before_anything_is_changed(name):
    report = conforming(name).report()
    assert (report.verdict, report.complete, report.exit_code) == ("conforming", True, 0)
    assert report.findings == []
    assert unseen(report) == []


@each_drift
def test_a_change_gives_exactly_its_findings(case):
    _, file, report = audited(case)
    found = {finding.setting: told(finding) for finding in report.findings}
    assert found == {f["setting"]: {k: v for k, v in f.items() if k != "evidence"} for f in case["findings"]}
    assert {finding.device for finding in report.findings} == {device_of(file)}
    assert (report.verdict, report.complete, report.exit_code) == ("nonconforming", True, 1)


@each_drift
def test_evidence_is_the_changed_line(case):
    site, file, report = audited(case)
    wanted = {f["setting"]: f["evidence"] for f in case["findings"] if "evidence" in f}
    new = new_lines(conforming(case["file"].partition("/")[0]).text(file), site.text(file))
    for finding in report.findings:
        quoted = {(q.file, q.line): q.text.strip() for q in finding.evidence}
        expected = wanted.get(finding.setting, list(quoted.values()))
        assert set(expected) <= set(quoted.values())
        assert expected or not quoted
        told_of_new = {site.line(file, number) for number in new} & set(expected)
        assert not told_of_new or any((file, number) in quoted for number in new)


@each_drift
def test_evidence_is_quoted_to_the_letter(case):
    site, _, report = audited(case)
    for quoted in (q for finding in report.findings for q in finding.evidence):
        assert "<redacted>" in quoted.text or site.line(quoted.file, quoted.line) == quoted.text.strip()


@each_drift
def test_the_counts_add_up(case):
    report = audited(case)[2]
    counts = report.counts
    assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified
    assert counts.unplanned == sum(1 for finding in report.findings if finding.kind == "unplanned")


@each_drift
def test_no_secret_is_in_the_report(case):
    text = audited(case)[2].model_dump_json()
    for secret in ("otters", "rolls at", "ferns grow", "made by noon", "oak bark", "not-a-real-secret", "notAReal"):
        assert secret not in text


@pytest.mark.parametrize(("day", "code"), [(date(2099, 12, 31), 0), (date(2100, 1, 1), 1)], ids=["until", "over"])
def test_an_approved_deviation_is_a_finding_that_does_not_count_until_it_is_over(day, code):
    site = conforming("quarry-road")
    file = "core1/show_running-config.txt"
    where = "interface GigabitEthernet1/0/7"
    text = edited(site.text(file), " switchport access vlan 10", " switchport access vlan 20", where)
    report = site.having(file, text).report(today=day, max_age=None)
    assert [(f.setting, f.observed) for f in report.findings] == [("ports.GigabitEthernet1/0/7.untagged", 20)]
    assert report.exit_code == code
