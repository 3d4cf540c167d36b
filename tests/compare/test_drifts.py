"""One realistic change in a capture that conformed: exactly the findings that it means, with evidence, and exit 1.

The cases are data, in fixtures/drifts/drift-*.yaml and in a folder of its own for each platform. Facts of a dialect
that are not plain from the changed line have their source beside the case; the rest is common practice. Consequences
are those that the report's words stand for.
"""

from __future__ import annotations

from datetime import date

import pytest

from auditor.model.report import Finding
from tests.compare.site import (
    DRIFTS,
    MIXED,
    PLATFORM_SITES,
    SITES,
    case_id,
    cases,
    changed,
    conforming,
    device_of,
    edited,
    new_lines,
)

CASES = cases(*sorted(DRIFTS.glob("drift-*.yaml")), *sorted(DRIFTS.glob("*/drift.yaml")))
each_drift = pytest.mark.parametrize("case", CASES, ids=case_id)


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
    assert report.unverified == []


@each_drift
def test_a_change_gives_exactly_its_findings(case):
    site, file = changed(case)
    report = site.report()
    found = {finding.setting: told(finding) for finding in report.findings}
    assert found == {f["setting"]: {k: v for k, v in f.items() if k != "evidence"} for f in case["findings"]}
    assert {finding.device for finding in report.findings} == {device_of(file)}
    assert (report.verdict, report.complete, report.exit_code) == ("nonconforming", True, 1)


@each_drift
def test_evidence_is_the_changed_line(case):
    site, file = changed(case)
    wanted = {f["setting"]: f["evidence"] for f in case["findings"] if "evidence" in f}
    new = new_lines(conforming(case["file"].partition("/")[0]).text(file), site.text(file))
    for finding in site.report().findings:
        quoted = {(q.file, q.line): q.text.strip() for q in finding.evidence}
        expected = wanted.get(finding.setting, list(quoted.values()))
        assert set(expected) <= set(quoted.values())
        assert expected or not quoted
        told_of_new = {site.line(file, number) for number in new} & set(expected)
        assert not told_of_new or any((file, number) in quoted for number in new)


@each_drift
def test_evidence_is_quoted_to_the_letter(case):
    site, _ = changed(case)
    for quoted in (q for finding in site.report().findings for q in finding.evidence):
        assert "<redacted>" in quoted.text or site.line(quoted.file, quoted.line) == quoted.text.strip()


@each_drift
def test_the_counts_add_up(case):
    report = changed(case)[0].report()
    counts = report.counts
    assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified
    assert counts.unplanned == sum(1 for finding in report.findings if finding.kind == "unplanned")


@each_drift
def test_no_secret_is_in_the_report(case):
    text = changed(case)[0].report().model_dump_json()
    for secret in ("otters", "rolls at", "ferns grow", "made by noon", "oak bark", "not-a-real-secret", "notAReal"):
        assert secret not in text


@pytest.mark.parametrize(("day", "code"), [(date(2099, 12, 31), 0), (date(2100, 1, 1), 1)], ids=["until", "over"])
def test_an_approved_deviation_is_a_finding_that_does_not_count_until_it_is_over(day, code):
    site = conforming("quarry-road")
    file = "core1/show_running-config.txt"
    where = "interface GigabitEthernet1/0/7"
    text = edited(site.text(file), " switchport access vlan 10", " switchport access vlan 20", where)
    report = site.having(file, text).report(today=day)
    assert [(f.setting, f.observed) for f in report.findings] == [("ports.GigabitEthernet1/0/7.untagged_vlan", 20)]
    assert report.exit_code == code
