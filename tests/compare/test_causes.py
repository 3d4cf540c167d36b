"""Why settings are unverified: a cause each, and an audit that is complete only where nobody could have told more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.core.report import COMPLETE_CAUSES, Report
from auditor.plan.loader import parse
from auditor.reports.view import view_of
from tests.compare.site import MIXED, PASSPHRASES, PLATFORM_SITES, SITES, Site, conforming, plan_text
from tests.effort import share

QUARRY = "quarry-road"
EVERY_SITE = (*SITES, MIXED, *PLATFORM_SITES)
KIOSK = b"""
format: 1
site: Fern Kiosk
subnets:
  desk: {vlan: 10, prefix: 10.9.10.0/24}
  visitors: {vlan: 40, prefix: 10.9.40.0/24, isolated: true}
devices:
  sw1: {role: access, platform: cisco_ios, ports: {GigabitEthernet0/1: {access: desk}}}
"""
KIOSK_SWITCH = b"""hostname sw1
vlan 10
 name desk
interface GigabitEthernet0/1
 switchport mode access
 switchport access vlan 10
end
"""


def causes(report: Report, area: str) -> dict[str, str]:
    return {str(item.setting): item.cause for item in report.unverified if item.setting.area == area}


def test_a_planned_passphrase_that_nobody_gave_makes_the_audit_incomplete():
    report = conforming(QUARRY).report(environment={})
    assert (report.verdict, report.complete, report.exit_code) == ("incomplete", False, 3)
    assert set(causes(report, "ssids").values()) == {"not-given"}
    for device in report.devices:
        wifi = device.name.startswith("ap")
        assert device.complete != wifi
        assert [reason.cause for reason in device.incomplete] == ["not-given"] * wifi
        assert ("set QUARRY_GUEST in the environment" in (device.reason or "")) == wifi
    assert report.findings == []


@pytest.mark.parametrize("value", [{}, {"FERN_STAFF": ""}], ids=["not set", "empty"])
def test_one_of_several_passphrases_that_is_missing_is_the_one_that_is_named(value):
    given = {name: text for name, text in PASSPHRASES.items() if name != "FERN_STAFF"}
    report = conforming("fernhill-guesthouse").report(environment={**given, **value})
    assert report.exit_code == 3
    told = " ".join(device.reason or "" for device in report.devices)
    assert "FERN_STAFF" in told
    assert "FERN_GUEST" not in told


@pytest.mark.parametrize("name", EVERY_SITE)
def test_each_isolated_subnet_is_counted_on_the_device_that_routes_it(name):
    site = conforming(name)
    report, subnets = site.audited(), site.plan.data.subnets
    isolated = {subnet: site.plan.gateway_of(entry) for subnet, entry in subnets.items() if entry.isolated}
    expected = {
        (device, f"isolation.{subnet}.{other}")
        for subnet, device in isolated.items()
        for other in ({*subnets, "devices"} - {subnet} if device else ())
    }
    found = {(i.device, str(i.setting)): i.cause for i in report.unverified if i.setting.area == "isolation"}
    assert found == dict.fromkeys(expected, "cannot")
    assert (report.complete, report.exit_code) == (True, 0)
    for device in report.devices:
        counted = device.areas["isolation"].unverified if "isolation" in device.areas else 0
        assert counted == sum(1 for owner, _ in expected if owner == device.name)
    assert ("isolation not checked" in view_of(report).headline) == bool(isolated)


def test_isolation_of_a_subnet_that_no_device_of_the_plan_routes_is_said_all_the_same():
    report = Site(parse("plan.yaml", KIOSK), {"sw1.cfg": KIOSK_SWITCH}).audited()
    assert report.exit_code == 0
    assert report.unverified == []
    assert view_of(report).headline.endswith("isolation not checked.")


def test_a_subnet_called_devices_does_not_count_twice():
    text = plan_text(QUARRY)
    renamed = text.replace("imaging", "devices")
    site = replace(conforming(QUARRY), plan=parse("plan.yaml", renamed.encode()))
    counts = site.audited().counts
    assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified


def test_an_area_that_the_capture_does_not_show_is_not_saved():
    report = conforming(QUARRY).without("core1/show_vlan_brief.txt").audited()
    found = {item.cause for item in report.unverified if item.device == "core1" and item.setting.area == "vlans"}
    assert found == {"not-saved"}
    device = next(device for device in report.devices if device.name == "core1")
    assert [reason.cause for reason in device.incomplete] == ["not-saved"]
    assert device.reason == "; ".join(reason.why for reason in device.incomplete)


def test_a_device_without_a_capture_is_the_cause_of_all_that_is_planned_for_it():
    site = conforming(QUARRY)
    report = site.without(*site.files_of("gw1")).audited()
    assert {item.cause for item in report.unverified if item.device == "gw1"} == {"device"}
    device = next(device for device in report.devices if device.name == "gw1")
    assert [reason.cause for reason in device.incomplete] == ["device"]


def test_a_line_that_nobody_understood_is_a_reason_of_the_device():
    site = conforming(QUARRY)
    name = "core1/show_running-config.txt"
    text = site.text(name).replace(" switchport mode access\n", " switchport mode access\n switchport frob 3\n", 1)
    device = next(d for d in site.having(name, text).audited().devices if d.name == "core1")
    assert [reason.cause for reason in device.incomplete] == ["not-understood"]


@pytest.mark.parametrize("name", EVERY_SITE)
def test_an_audit_is_complete_where_no_cause_says_that_more_could_have_been_told(name):
    site = conforming(name)
    for environment in (PASSPHRASES, {}):
        for without in share((None, *site.files), lambda file: f"{name} {file}", quick=6):
            report = (site.without(without) if without else site).audited(environment=environment)
            for device in report.devices:
                told = {item.cause for item in report.unverified if item.device == device.name}
                assert device.complete == (not device.incomplete) == (not device.reason)
                assert not (device.complete and told - COMPLETE_CAUSES)
