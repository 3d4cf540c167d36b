"""What counts and what does not: approvals and their last day, trunks that carry all, ports that nobody listed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from auditor.app.auditing import audit
from auditor.capture.interface import Captured
from auditor.compare.deviations import covers
from auditor.core.report import Report, finding_id, finding_ids
from auditor.core.state import Setting
from auditor.plan.loader import parse
from auditor.plan.schema import Deviation
from auditor.reading.source import CaptureFile
from tests.compare.site import TODAY, conforming, edited, plan_text

QUARRY = "quarry-road"
CORE = "core1/show_running-config.txt"
APPROVED = "ports.GigabitEthernet1/0/7.untagged"


def with_approved_drift(until: date = date(2099, 12, 31), observed: str = "20") -> Report:
    """Audit the clinic with the ultrasound cart's port in the VLAN that its plan approves."""
    site = conforming(QUARRY)
    plan = plan_text(QUARRY).replace("until: 2099-12-31", f"until: {until}").replace("observed: 20", observed)
    text = edited(site.text(CORE), "switchport access vlan 10", "switchport access vlan 20",
                  below="interface GigabitEthernet1/0/7")  # fmt: skip
    return replace(site, plan=parse("plan.yaml", plan.encode())).having(CORE, text).audited()


def test_an_approved_deviation_is_shown_and_does_not_count():
    report = with_approved_drift(observed="observed: 20")
    (finding,) = report.findings
    assert (finding.setting, finding.counts) == (APPROVED, False)
    assert finding.approved is not None
    assert (finding.approved.approved_by, finding.approved.ticket) == ("site owner", "4711")
    assert (report.verdict, report.exit_code) == ("conforming", 0)
    assert (report.counts.nonconforming, report.counts.approved) == (1, 1)
    assert report.deviations == []


@pytest.mark.parametrize(("days", "counts"), [(-1, True), (0, False), (1, False)])
def test_an_approval_holds_until_its_last_day(days: int, counts: bool):
    report = with_approved_drift(TODAY + timedelta(days), "observed: 20")
    assert [finding.counts for finding in report.findings] == [counts]
    assert report.exit_code == int(counts)
    why = f"expired on {TODAY + timedelta(days)} and still present: renew the approval or correct the device"
    assert [(d.setting, d.why) for d in report.deviations] == ([(APPROVED, why)] if counts else [])


def test_an_approval_by_the_setting_s_earlier_name_still_covers():
    site = conforming(QUARRY)
    plan = plan_text(QUARRY).replace("0/7.untagged,", "0/7.untagged_vlan,")
    assert plan != plan_text(QUARRY)
    text = edited(site.text(CORE), "switchport access vlan 10", "switchport access vlan 20",
                  below="interface GigabitEthernet1/0/7")  # fmt: skip
    report = replace(site, plan=parse("plan.yaml", plan.encode())).having(CORE, text).report()
    assert [(finding.setting, finding.counts) for finding in report.findings] == [(APPROVED, False)]
    assert report.deviations == []


@pytest.mark.parametrize("value", ["30", '"200"', "absent"])
def test_an_approval_of_another_value_covers_nothing(value: str):
    report, unquoted = with_approved_drift(observed=f"observed: {value}"), value.strip(chr(34))
    assert [finding.approved for finding in report.findings] == [None]
    assert [d.why for d in report.deviations] == [
        f"approved as {unquoted}, observed 20: correct the approval or the device"
    ]
    assert report.exit_code == 1


def test_an_approval_of_what_is_mended_is_told():
    report = conforming(QUARRY).audited()
    assert report.findings == []
    assert [(d.setting, d.why) for d in report.deviations] == [
        (APPROVED, "no finding matches this approval: remove it")
    ]
    assert report.exit_code == 0


@pytest.mark.parametrize(
    ("written", "observed", "does"),
    [
        (20, 20, True),
        ("20", 20, True),
        (20, "20", True),
        (True, True, True),
        (["9.9.9.9", "10.0.0.1"], ["10.0.0.1", "9.9.9.9"], True),
        (None, None, True),
        ("absent", None, True),
        (None, {"name": "x"}, True),
        ("present", {"name": "x"}, True),
        (None, 20, False),
        (20, None, False),
        ("absent", {"name": "x"}, False),
        ("10,20", "10,20,30", False),
    ],
)
def test_an_approved_value_is_compared_by_what_it_means(written: Any, observed: Any, does: bool):
    deviation = Deviation.model_validate(
        {"device": "sw1", "setting": "vlans.9", "observed": written, "reason": "x", "approved_by": "y",
         "until": "2027-01-01"}
    )  # fmt: skip
    assert covers(deviation, "sw1", Setting("vlans", "9"), observed) is does
    assert not covers(deviation, "sw2", Setting("vlans", "9"), observed)
    assert not covers(deviation, "sw1", Setting("vlans", "9", "name"), observed)


@pytest.mark.parametrize(
    ("written", "does"),
    [({"10.0.0.5": "a"}, True), ({"10.0.0.6": "a"}, False), ({}, False), ("present", False), (None, False)],
)
def test_a_field_with_several_values_is_approved_with_these_alone(written: Any, does: bool):
    deviation = Deviation.model_validate(
        {"device": "sw1", "setting": "dhcp.10.0.0.0/24.reservations", "observed": written, "reason": "x",
         "approved_by": "y", "until": "2027-01-01"}
    )  # fmt: skip
    assert covers(deviation, "sw1", Setting("dhcp", "10.0.0.0/24", "reservations"), {"10.0.0.5": "a"}) is does


PLAN = """format: 1
site: Mill Lane Bakery
defaults: {{unlisted_ports: {unlisted}}}
subnets:
  shop: {{vlan: 10, prefix: 10.20.10.0/24}}
  guest: {{vlan: 40, prefix: 10.20.40.0/24}}
devices:
  sw1: {{role: access, platform: cisco_ios, ports: {{{ports}}}}}
"""
VLANS = "vtp mode transparent\nvlan 10\n name shop\nvlan 40\n name guest\n"


def audited(ports: str, capture: str, unlisted: str = "ignore", vlans: str = VLANS) -> Report:
    plan = parse("plan.yaml", PLAN.format(ports=ports, unlisted=unlisted).encode())
    text = f"hostname sw1\n{vlans}{capture}\nend\n"

    class One:
        def capture(self, device: str) -> Captured:
            return Captured([CaptureFile(f"{device}.cfg", text.encode())])

    return audit(plan, One(), today=TODAY, max_age=None, environment={})


def told(report: Report) -> list[tuple[str, Any, Any]]:
    return [(finding.setting, finding.expected, finding.observed) for finding in report.findings]


PORT = "interface GigabitEthernet1/0/1\n"
TRUNK = f"{PORT} switchport mode trunk\n"
TAGGED = "ports.GigabitEthernet1/0/1.tagged"


@pytest.mark.parametrize(
    ("lines", "vlans", "found"),
    [
        (" switchport trunk allowed vlan 10,40", VLANS, []),
        # what does not exist on the device does not travel
        (" switchport trunk allowed vlan 10,40,77", VLANS, []),
        (" switchport trunk native vlan 99", VLANS, []),
        (" switchport trunk allowed vlan 10", VLANS, [(TAGGED, "10,40", "10")]),
        (
            " switchport trunk allowed vlan 10,40,77",
            f"{VLANS}vlan 77\n",
            [("vlans.77", None, {"name": "VLAN0077"}), (TAGGED, "10,40", "10,40,77")],
        ),
    ],
)
def test_a_trunk_that_carries_all_planned_and_no_other_that_exists(lines: str, vlans: str, found: list[Any]):
    report = audited("Gi1/0/1: {trunk: all}", TRUNK + lines, vlans=vlans)
    assert sorted(told(report), key=str) == sorted(found, key=str)
    assert report.complete


def test_an_explicit_list_is_compared_with_all_that_the_port_allows():
    report = audited("Gi1/0/1: {trunk: [shop, guest]}", TRUNK)
    assert (TAGGED, "10,40", "2-4094") in told(report)
    assert ("ports.GigabitEthernet1/0/1.untagged", None, 1) in told(report)


OTHER = "interface GigabitEthernet1/0/2\n"


@pytest.mark.parametrize(
    ("unlisted", "lines", "settings"),
    [
        ("ignore", " switchport access vlan 40\n switchport mode access", []),
        ("disabled", " shutdown", []),
        ("disabled", " switchport mode access", ["ports.GigabitEthernet1/0/2.enabled"]),
        ("{access: shop}", " switchport access vlan 10\n switchport mode access\n description anything", []),
        (
            "{access: shop}",
            " switchport access vlan 40\n switchport mode access",
            ["ports.GigabitEthernet1/0/2.untagged"],
        ),
        (
            "{access: shop}",
            " switchport access vlan 10\n switchport mode access\n shutdown",
            ["ports.GigabitEthernet1/0/2.enabled"],
        ),
    ],
)
def test_ports_that_nobody_listed(unlisted: str, lines: str, settings: list[str]):
    capture = f"{PORT} switchport mode trunk\n switchport trunk allowed vlan 10,40\n{OTHER}{lines}"
    report = audited("Gi1/0/1: {trunk: all}", capture, unlisted)
    assert [finding.setting for finding in report.findings] == settings


def test_an_ignored_port_is_not_judged():
    capture = f"{TRUNK} switchport trunk allowed vlan 10,40\n{OTHER} switchport mode trunk"
    report = audited("Gi1/0/1: {trunk: all}, Gi1/0/2: {ignore: true}", capture, "disabled")
    assert report.findings == []


def test_a_planned_port_that_is_not_there():
    report = audited("Gi1/0/1: {trunk: all}, Gi1/0/2: {access: shop}", f"{TRUNK} switchport trunk allowed vlan 10,40")
    assert [(f.setting, f.kind) for f in report.findings] == [("ports.GigabitEthernet1/0/2", "absent")]
    counts = report.counts
    assert (counts.nonconforming, counts.planned) == (1, counts.conforming + 1)


def test_a_voice_vlan_that_nobody_planned_is_unplanned_and_not_counted_among_the_planned():
    lines = " switchport mode access\n switchport access vlan 10\n switchport voice vlan 40"
    report = audited("Gi1/0/1: {access: shop}", PORT + lines, vlans="vtp mode transparent\nvlan 10\n name shop\n")
    assert [(f.setting, f.kind) for f in report.findings] == [("ports.GigabitEthernet1/0/1.voice", "unplanned")]
    assert (report.counts.nonconforming, report.counts.unplanned) == (0, 1)
    assert report.counts.planned == report.counts.conforming


@pytest.mark.parametrize(
    ("vids", "found"),
    [((10,), []), ((10, 40), ["gateways.10", "gateways.40"]), ((77,), ["gateways.77", "vlans.77"])],
)
def test_a_device_without_a_planned_address_may_have_one_and_in_a_planned_vlan(vids: tuple[int, ...], found: list[str]):
    shown = "".join(f"\ninterface Vlan{vid}\n ip address 10.20.{vid}.9 255.255.255.0" for vid in vids)
    vlans = VLANS + ("vlan 77\n" if 77 in vids else "")
    report = audited(
        "Gi1/0/1: {trunk: [shop, guest]}", f"{TRUNK} switchport trunk allowed vlan 10,40{shown}", vlans=vlans
    )
    assert [finding.setting for finding in report.findings] == found
    assert {finding.kind for finding in report.findings} <= {"unplanned"}


def test_an_item_that_is_called_like_a_field_has_an_id_of_its_own():
    field, item = Setting("ssids", "a", "hidden"), Setting("ssids", "a.hidden")
    assert str(field) == str(item)
    ids = {finding_id("ap1", each) for each in (field, item)}
    assert len(ids) == 2
    assert finding_ids("ap1", str(item)) == ids
    assert finding_id("ap1", field) == finding_id("ap1", str(field))
    assert finding_ids("sw1", TAGGED) >= {finding_id("sw1", TAGGED)}


def test_an_id_depends_on_device_and_setting_alone():
    one, other = audited("Gi1/0/1: {trunk: [shop, guest]}", TRUNK), audited("Gi1/0/1: {trunk: [shop]}", TRUNK)
    ids = {finding.setting: finding.id for finding in one.findings}
    assert {f.id for f in other.findings if f.setting == TAGGED} == {ids[TAGGED]} == {finding_id("sw1", TAGGED)}
    assert len(set(ids.values())) == len(ids)
