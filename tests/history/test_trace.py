"""What is new, what persists, what is gone, what came back, and what nobody can tell."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor.core.changes import Since
from auditor.core.report import Report
from auditor.history import History
from tests.history.made import at, day, found, report


@pytest.fixture
def history(tmp_path: Path):
    with History.begin(tmp_path / "history.sqlite", at(day(0))) as kept:
        yield kept


def add(history: History, *reports: Report) -> Since | None:
    """Add reports in their order, and return what the last one says of the one before."""
    return [history.add(one, at(one.audited_on)) for one in reports][-1].since


def fared(since: Since | None) -> dict[str, str]:
    assert since
    return {traced.setting: traced.course for traced in since.findings}


def test_the_first_audit_has_nothing_to_be_compared_with(history: History):
    assert add(history, report(findings=[found("vlans.10")])) is None


def test_new_persists_and_gone(history: History):
    one, two, three = found("vlans.10"), found("vlans.20"), found("vlans.30")
    since = add(history, report(day(0), [one, two]), report(day(1), [two, three]))
    assert fared(since) == {"vlans.10": "gone", "vlans.20": "persists", "vlans.30": "new"}
    assert since
    assert since.day == day(0)
    assert {traced.setting: traced.since for traced in since.findings} == {
        "vlans.10": day(0),
        "vlans.20": day(0),
        "vlans.30": day(1),
    }


def test_what_is_gone_is_told_of_once(history: History):
    assert fared(add(history, report(day(0), [found("vlans.10")]), report(day(1)), report(day(2)))) == {}


def test_what_came_back_says_when_it_was_last_seen_and_counts_from_its_return(history: History):
    one = found("vlans.10")
    since = add(history, report(day(0), [one]), report(day(1), [one]), report(day(2)), report(day(3), [one]))
    assert since
    (traced,) = since.findings
    assert (traced.course, traced.since, traced.before) == ("came back", day(3), day(1))
    since = add(history, report(day(4), [one]))
    assert since
    (traced,) = since.findings
    assert (traced.course, traced.since, traced.before) == ("persists", day(3), day(1))


def test_a_device_that_was_not_audited_makes_nothing_gone(history: History):
    one, other = found("vlans.10"), found("vlans.10", "gw1")
    since = add(history, report(day(0), [one, other]), report(day(1), [other], missing=["core1"]))
    assert since
    assert {(t.device, t.course) for t in since.findings} == {("core1", "not seen"), ("gw1", "persists")}
    since = add(history, report(day(2), [one]))
    assert since
    assert {(t.device, t.course, t.since) for t in since.findings} == {
        ("core1", "persists", day(0)),
        ("gw1", "gone", day(0)),
    }


def test_not_seen_twice_and_then_gone(history: History):
    one = found("vlans.10")
    away = [report(day(number), missing=["core1"]) for number in (1, 2)]
    assert fared(add(history, report(day(0), [one]), *away)) == {"vlans.10": "not seen"}
    assert fared(add(history, report(day(3)))) == {"vlans.10": "gone"}


def test_nobody_knows_since_when_where_the_device_was_not_audited_before(history: History):
    since = add(
        history, report(day(0), missing=["core1"]), report(day(1), [found("vlans.10"), found("vlans.10", "gw1")])
    )
    assert since
    assert {t.device: t.course for t in since.findings} == {"core1": "since unknown", "gw1": "new"}


def test_a_device_that_is_new_in_the_plan_has_new_findings(history: History):
    since = add(history, report(day(0), devices=["gw1"]), report(day(1), [found("vlans.10")]))
    assert fared(since) == {"vlans.10": "new"}


def test_a_device_that_is_no_longer_planned_has_no_findings_any_more(history: History):
    since = add(history, report(day(0), [found("vlans.10")]), report(day(1), devices=["gw1"]))
    assert fared(since) == {"vlans.10": "gone"}


@pytest.mark.parametrize(
    ("unverified", "course"),
    [
        ("ports.Gi1.mode", "not seen"),
        ("ports.Gi1", "not seen"),
        ("ports.Gi1.tagged", "gone"),
        ("ports.Gi10.mode", "gone"),
    ],
)
def test_a_setting_that_this_capture_cannot_show_is_not_gone(history: History, unverified: str, course: str):
    since = add(history, report(day(0), [found("ports.Gi1.mode")]), report(day(1), unverified=[("core1", unverified)]))
    assert fared(since) == {"ports.Gi1.mode": course}


def test_what_is_unplanned_is_not_gone_where_its_whole_area_is_not_shown(history: History):
    unplanned = found("vlans.60", kind="unplanned")
    hidden = report(day(1), unverified=[("core1", "vlans.10.name")], incomplete=["core1"])
    other = report(day(2), unverified=[("core1", "ports.Gi1.mode")], incomplete=["core1"])
    assert fared(add(history, report(day(0), [unplanned]), hidden)) == {"vlans.60": "not seen"}
    assert fared(add(history, other)) == {"vlans.60": "gone"}


def test_what_is_unplanned_is_gone_where_all_of_the_device_was_read(history: History):
    unplanned = found("vlans.60", kind="unplanned")
    whole = report(day(1), unverified=[("core1", "vlans.10.name")])
    assert fared(add(history, report(day(0), [unplanned]), whole)) == {"vlans.60": "gone"}


def test_a_renumbered_port_is_a_new_finding(history: History):
    since = add(history, report(day(0), [found("ports.Gi1.mode")]), report(day(1), [found("ports.Gi2.mode")]))
    assert fared(since) == {"ports.Gi1.mode": "gone", "ports.Gi2.mode": "new"}


def test_another_plan_is_told_of(history: History):
    same = add(history, report(day(0)), report(day(1)))
    other = add(history, report(day(2), plan="c" * 64))
    assert same
    assert other
    assert (same.plan_changed, other.plan_changed) == (False, True)


def test_a_finding_whose_texts_changed_is_still_the_same(history: History):
    since = add(
        history, report(day(0), [found("vlans.10", observed=20)]), report(day(1), [found("vlans.10", observed=30)])
    )
    assert fared(since) == {"vlans.10": "persists"}


def test_sites_are_apart_and_known_by_reference_or_else_by_name(history: History):
    one = found("vlans.10")
    add(history, report(day(0), [one]))
    assert add(history, report(day(1), [one], site="Elm Yard", reference="")) is None
    assert fared(add(history, report(day(2), [one], site="Mill Lane Surgery, renamed"))) == {"vlans.10": "persists"}
    assert fared(add(history, report(day(2), [one], site="Elm Yard", reference=""))) == {"vlans.10": "persists"}
    assert [line.site for line in history.overview(day(2), 35).sites] == ["Elm Yard", "Mill Lane Surgery, renamed"]


def test_the_history_of_a_site_tells_the_same_as_the_report(history: History):
    one, two = found("vlans.10"), found("vlans.20")
    reports = [report(day(0), [one]), report(day(1), [one, two]), report(day(2), [two], missing=["core1"])]
    since = add(history, *reports)
    told = history.of("Mill Lane Surgery", "MLS-01")
    assert told.since == since
    assert [run.day for run in told.runs] == [day(2), day(1), day(0)]
    assert [run.findings for run in told.runs] == [1, 2, 1]
    newest = told.runs[0]
    assert {device.name: device.outcome for device in newest.devices} == {
        "gw1": "audited", "core1": "not captured", "ap1": "audited",
    }  # fmt: skip
    assert newest.plan == reports[2].plan
    assert newest.counts == reports[2].counts
    assert {device.name: device.captures for device in newest.devices}["gw1"] == {"gw1.cfg": "b" * 64}
