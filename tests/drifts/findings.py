"""What an audit of a drift must tell: exactly the findings that it means, with evidence."""

from __future__ import annotations

from auditor.core.report import Finding
from tests.compare.site import conforming, device_of, new_lines
from tests.corrections.proof import Drift


def told(finding: Finding) -> dict[str, object]:
    """Return what a case says of a finding."""
    return {
        "setting": finding.setting,
        "kind": finding.kind,
        "expected": finding.expected,
        "observed": finding.observed,
        "consequence": finding.consequence,
    }


def a_change_gives_exactly_its_findings(drift: Drift) -> None:
    report = drift.report
    found = {finding.setting: told(finding) for finding in report.findings}
    assert found == {f["setting"]: {k: v for k, v in f.items() if k != "evidence"} for f in drift.case["findings"]}
    assert {finding.device for finding in report.findings} == {device_of(drift.file)}
    assert (report.verdict, report.complete, report.exit_code) == ("nonconforming", True, 1)


def evidence_is_the_changed_line(drift: Drift) -> None:
    wanted = {f["setting"]: f["evidence"] for f in drift.case["findings"] if "evidence" in f}
    site, file = drift.site, drift.file
    new = new_lines(conforming(drift.case["file"].partition("/")[0]).text(file), site.text(file))
    for finding in drift.report.findings:
        quoted = {(q.file, q.line): q.text.strip() for q in finding.evidence}
        expected = wanted.get(finding.setting, list(quoted.values()))
        assert set(expected) <= set(quoted.values())
        assert expected or not quoted
        told_of_new = {site.line(file, number) for number in new} & set(expected)
        assert not told_of_new or any((file, number) in quoted for number in new)


def evidence_is_quoted_to_the_letter(drift: Drift) -> None:
    for quoted in (q for finding in drift.report.findings for q in finding.evidence):
        assert "<redacted>" in quoted.text or drift.site.line(quoted.file, quoted.line) == quoted.text.strip()


def the_counts_add_up(drift: Drift) -> None:
    counts = drift.report.counts
    assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified
    assert counts.unplanned == sum(1 for finding in drift.report.findings if finding.kind == "unplanned")


def no_secret_is_in_the_report(drift: Drift) -> None:
    text = drift.report.model_dump_json()
    for secret in ("otters", "rolls at", "ferns grow", "made by noon", "oak bark", "not-a-real-secret", "notAReal"):
        assert secret not in text


CHECKS = (
    a_change_gives_exactly_its_findings,
    evidence_is_the_changed_line,
    evidence_is_quoted_to_the_letter,
    the_counts_add_up,
    no_secret_is_in_the_report,
)
