"""Of which day a capture is, by which source, and what its age and its source mean for an audit."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest

from auditor.app.auditing import audit
from auditor.capture.interface import Captured, NotCaptured
from auditor.compare.age import dated
from auditor.core.days import Days, DaySource
from auditor.core.report import MAX_AGES, OCCASIONS, CapturedOn, Incomplete, Occasion, Report
from auditor.plan.loader import parse
from auditor.reading.source import CaptureFile

TODAY = date(2026, 11, 25)
LONG_AGO = TODAY - timedelta(days=90)


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


@pytest.mark.parametrize(
    ("days", "on", "by"),
    [
        (Days(record=ago(4), text=ago(3), stated=ago(2), file=ago(1)), ago(4), "record"),
        (Days(text=ago(3), stated=ago(2), file=ago(1)), ago(3), "text"),
        (Days(stated=ago(2), file=ago(1)), ago(2), "stated"),
        (Days(file=ago(1)), ago(1), "file"),
        # a clock that nobody has set: before 2000, or after the audit
        (Days(text=date(1970, 1, 2), stated=ago(2), file=ago(1)), ago(2), "stated"),
        (Days(text=date(1999, 12, 31), file=ago(1)), ago(1), "file"),
        (Days(text=date(2000, 1, 1), file=ago(1)), date(2000, 1, 1), "text"),
        (Days(record=ago(-30), text=ago(3)), ago(3), "text"),
        (Days(text=ago(-2), file=ago(1)), ago(1), "file"),
        # past midnight where it was written down
        (Days(text=ago(-1), file=ago(1)), ago(-1), "text"),
    ],
)
def test_the_best_source_that_says_a_day_that_can_be_is_taken(days: Days, on: date, by: DaySource):
    assert dated([("sw1.cfg", days)], TODAY).captured == CapturedOn(on=on, by=by)


def test_the_day_of_a_device_is_the_oldest_of_its_files():
    files = [("a.txt", Days(record=ago(3))), ("b.txt", Days(file=ago(9))), ("c.txt", Days(text=ago(1)))]
    assert dated(files, TODAY).captured == CapturedOn(on=ago(9), by="file")
    # of two alike, the less sure one is told
    files = [("a.txt", Days(record=ago(3))), ("b.txt", Days(file=ago(3)))]
    assert dated(files, TODAY).captured == CapturedOn(on=ago(3), by="file")


def test_what_cannot_be_is_told_with_what_to_do():
    days = Days(date(1999, 1, 1), date(1970, 1, 2), date(2027, 1, 1), date(1980, 1, 1), line=1)
    found = dated([("gw1.rsc", days)], TODAY)
    assert found.captured is None
    assert found.notes == [
        "capture.json has gw1.rsc captured on 1999-01-01, before 2000: set the clock of the computer that read it",
        "device clock not set: gw1.rsc:1 says 1970-01-02, before 2000; set it, or give the device a time server",
        "the day stated with --captured-on is 2027-01-01, after the day of this audit: it is not used",
        "the time of the file gw1.rsc is 1980-01-01, before 2000: it is not used",
    ]
    assert dated([("gw1.rsc", Days(record=TODAY, text=date(1970, 1, 2)))], TODAY).notes == []


PLAN = """format: 1
site: Mill Lane Bakery
subnets: {shop: {vlan: 10, prefix: 10.20.10.0/24}}
devices:
  sw1: {role: access, platform: cisco_ios, ports: {GigabitEthernet0/1: {access: shop}}}
"""
TEXT = """hostname sw1
!
vtp mode transparent
!
vlan 10
 name shop
!
interface GigabitEthernet0/1
 switchport access vlan {vlan}
 switchport mode access
!
end
"""


@dataclass
class Saved:
    """Captures of one switch: files of some days."""

    days: tuple[Days, ...]
    vlan: int = 10
    files: list[CaptureFile] = field(default_factory=list)

    def capture(self, device: str) -> Captured | NotCaptured:
        text = TEXT.format(vlan=self.vlan)
        brief = "VLAN Name   Status    Ports\n---- ------ --------- -----\n10   shop   active    Gi0/1\n"
        texts = {f"{device}/show_running-config.txt": text, f"{device}/show_vlan_brief.txt": brief}
        found = [CaptureFile(name, told.encode()) for name, told in texts.items()][: max(1, len(self.days))]
        return Captured(found, days=self.days)


def audited(*days: Days, occasion: Occasion = "routine", vlan: int = 10, **options: int | None) -> Report:
    return audit(
        parse("plan.yaml", PLAN.encode()),
        Saved(days, vlan),
        occasion=occasion,
        today=TODAY,
        environment={},
        **options,  # type: ignore[arg-type]
    )


def reasons(report: Report) -> list[Incomplete]:
    (device,) = report.devices
    return device.incomplete


def test_the_limits_are_those_of_the_occasions():
    assert MAX_AGES == {"acceptance": 7, "after-change": 1, "routine": 40}


@pytest.mark.parametrize("occasion", OCCASIONS)
def test_a_capture_may_be_as_old_as_the_occasion_allows(occasion: Occasion):
    limit = MAX_AGES[occasion]
    fresh = audited(Days(record=ago(limit)), occasion=occasion)
    assert (fresh.exit_code, fresh.complete, fresh.max_age, reasons(fresh)) == (0, True, limit, [])
    old = audited(Days(record=ago(limit + 1)), occasion=occasion)
    assert (old.exit_code, old.complete, old.verdict) == (3, False, "incomplete")
    assert [reason.cause for reason in reasons(old)] == ["too-old"]


def test_an_older_capture_is_judged_all_the_same():
    report = audited(Days(file=LONG_AGO), vlan=20)
    assert [finding.setting for finding in report.findings] == ["ports.GigabitEthernet0/1.untagged"]
    assert report.counts.unverified == 0
    assert report.devices[0].captured == CapturedOn(on=LONG_AGO, by="file")
    why = (
        "its capture is 90 days old (of 2026-08-27, day of the file), and the limit is 40 days: capture it again, "
        "or set another limit with --max-age"
    )
    assert reasons(report) == [Incomplete(cause="too-old", why=why)]


def test_the_limit_can_be_set_and_switched_off():
    assert audited(Days(record=ago(2)), max_age=1).exit_code == 3
    assert "2 days old (of 2026-11-23, recorded when it was read), and the limit is 1 day:" in (
        reasons(audited(Days(record=ago(2)), max_age=1))[0].why
    )
    assert audited(Days(record=LONG_AGO), max_age=90).exit_code == 0
    off = audited(Days(record=date(2001, 1, 1)), max_age=None)
    assert (off.exit_code, off.max_age) == (0, None)
    assert audited(max_age=None).exit_code == 0
    assert audited(Days(record=TODAY), max_age=0).exit_code == 0


@pytest.mark.parametrize("occasion", OCCASIONS)
@pytest.mark.parametrize(
    ("days", "sure"),
    [(Days(record=TODAY), True), (Days(text=TODAY), True), (Days(stated=TODAY), True), (Days(file=TODAY), False)],
)
def test_an_acceptance_needs_more_than_the_day_of_the_file(occasion: Occasion, days: Days, sure: bool):
    for limit in (7, None):
        report = audited(days, occasion=occasion, max_age=limit)
        enough = sure or occasion != "acceptance"
        assert report.exit_code == (0 if enough else 3)
        assert [reason.cause for reason in reasons(report)] == ([] if enough else ["undated"])


def test_the_files_whose_day_is_not_sure_enough_are_named():
    report = audited(Days(record=TODAY), Days(file=TODAY), occasion="acceptance")
    (reason,) = reasons(report)
    assert reason.why == (
        "only the time of the file tells the day of sw1/show_vlan_brief.txt, and an acceptance needs more: "
        "read it with 'auditor capture', or state it with --captured-on"
    )
    both = audited(Days(file=TODAY), Days(file=TODAY), occasion="acceptance")
    assert "the day of its capture, and" in reasons(both)[0].why


@pytest.mark.parametrize("occasion", OCCASIONS)
def test_a_capture_without_a_day_is_not_recent(occasion: Occasion):
    report = audited(occasion=occasion)
    assert report.devices[0].captured is None
    assert (report.exit_code, [reason.cause for reason in reasons(report)]) == (3, ["undated"])
    assert reasons(report)[0].why.endswith("capture it again, or state the day with --captured-on")


def test_a_clock_that_is_not_set_is_told_in_the_report():
    plan = parse(
        "plan.yaml",
        b"""format: 1
site: Mill Lane Bakery
subnets: {shop: {vlan: 10, prefix: 10.20.10.0/24}}
devices: {gw1: {role: gateway, platform: mikrotik_routeros}}
""",
    )

    class One:
        def capture(self, device: str) -> Captured:
            text = b"# jan/02/1970 00:01:25 by RouterOS 7.8\n/system identity\nset name=gw1\n"
            return Captured([CaptureFile(f"{device}.rsc", text)], days=(Days(file=TODAY),))

    report = audit(plan, One(), today=TODAY, environment={})
    assert report.devices[0].captured == CapturedOn(on=TODAY, by="file")
    assert report.devices[0].notes == [
        "device clock not set: gw1.rsc:1 says 1970-01-02, before 2000; set it, or give the device a time server"
    ]
