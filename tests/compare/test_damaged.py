"""Captures that are cut, mixed up or no captures at all: none looks conforming, and the report says what is wrong."""

from __future__ import annotations

import re

import pytest

from auditor.core.report import DeviceReport, Report
from tests.compare.site import DRIFTS, SITES, Site, case_id, cases, changed, conforming, device_of, files_of
from tests.effort import share

QUARRY = "quarry-road"
ONE_OF_EACH = {"core1": "core1/show_running-config.txt", "gw1": "gw1.rsc", "ap1": "ap1/network"}
"""A device of each dialect, and the file that says most of it."""
UCI = ("network", "wireless", "dhcp", "system", "dropbear")
CASES = cases(DRIFTS / "damaged.yaml", *sorted(DRIFTS.glob("*/damaged.yaml")))
NO_CAPTURES = [(case, device) for case in cases(DRIFTS / "no-captures.yaml") for device in case["devices"]]
EVERY_FILE = [(name, file) for name in SITES for file in files_of(name)]


def part_of(report: Report, device: str) -> DeviceReport:
    return next(part for part in report.devices if part.name == device)


def said_of(part: DeviceReport) -> str:
    """Return everything that a device's part of the report says is wrong with its capture."""
    return "\n".join([part.reason or "", *(line.text for line in part.not_understood)])


def cannot_be_read(site: Site, device: str, reason: str, outcome: str = "not readable") -> None:
    """Check that a device was not audited, why, that nothing of it counts as conforming, and that the others were."""
    report = site.audited()
    part = part_of(report, device)
    assert part.outcome == outcome
    assert re.search(reason, part.reason or ""), part.reason
    assert part.counts.conforming == 0
    assert part.counts.planned == part.counts.unverified > 0
    assert [f.device for f in report.findings if f.device == device] == []
    assert (report.verdict, report.complete, report.exit_code) == ("incomplete", False, 3)
    assert {other.outcome for other in report.devices if other.name != device} == {"audited"}


def only(device: str, data: str | bytes) -> Site:
    """Return the clinic with one file for all of a device's capture."""
    site = conforming(QUARRY)
    return site.without(*site.files_of(device)).having(f"{device}.txt", data)


@pytest.mark.parametrize("case", share(CASES, case_id, quick=4), ids=case_id)
def test_damage_in_a_capture_is_told(case):
    site, file = changed(case)
    report = site.audited()
    part = part_of(report, device_of(file))
    assert report.exit_code in case.get("exits", [3])
    assert part.verdict == report.verdict != "conforming"
    found = [f.model_dump_json() for f in report.findings if f.device == part.name]
    found += [f"{u.setting}: {u.why}" for u in report.unverified if u.device == part.name]
    assert case["told"] in said_of(part) + "".join(found)


@pytest.mark.parametrize(("case", "device"), NO_CAPTURES, ids=[f"{d}: {c['case']}" for c, d in NO_CAPTURES])
def test_what_is_no_capture_can_not_be_read(case, device):
    cannot_be_read(only(device, case["text"]), device, case["reason"])


@pytest.mark.parametrize("device", ONE_OF_EACH)
@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (bytes(range(256)) * 16, "nothing in it is"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(255, -1, -1)) * 8, "nothing in it is"),
    ],
    ids=["nothing", "bytes without sense", "a picture"],
)
def test_bytes_that_are_no_text_can_not_be_read(device, data, reason):
    cannot_be_read(only(device, data), device, reason)


@pytest.mark.parametrize("device", ONE_OF_EACH)
def test_a_missing_capture_is_told(device):
    site = conforming(QUARRY)
    cannot_be_read(site.without(*site.files_of(device)), device, "nothing is saved", outcome="not captured")


@pytest.mark.parametrize(
    ("device", "other"),
    [
        ("core1", "access1"),
        ("access1", "core1"),
        ("ap1", "ap2"),
        ("gw1", "core1"),
        ("core1", "gw1"),
        ("ap1", "gw1"),
        ("gw1", "ap1"),
    ],
)
def test_a_capture_of_another_device_is_not_taken_for_this_one(device, other):
    site = conforming(QUARRY)
    given = {f"{device}/{name.rpartition('/')[2]}": site.files[name] for name in site.files_of(other)}
    mixed_up = Site(site.plan, {**site.without(*site.files_of(device)).files, **given})
    cannot_be_read(mixed_up, device, f"capture of {other}|nothing in it is|script")


def test_another_switchs_listing_beside_the_right_configuration():
    site = conforming(QUARRY)
    listing = site.text("core1/show_vlan_brief.txt").replace("core1#", "access1#")
    listing = listing.replace("50   payment", "51   payment")
    report = site.having("core1/show_vlan_brief.txt", listing).audited()
    assert report.verdict != "conforming"
    assert {f.setting for f in report.findings} >= {"vlans.50", "vlans.51"} or part_of(report, "core1").reason


@pytest.mark.parametrize("tenth", range(1, 10))
@pytest.mark.parametrize("name", ["core1/show_running-config.txt", "access1/show_running-config.txt"])
def test_a_configuration_cut_short_has_no_end(name, tenth):
    site = conforming(QUARRY)
    lines = site.text(name).split("\n")
    half = "\n".join(lines[: len(lines) * tenth // 10])
    cannot_be_read(site.having(name, half), device_of(name), "cut short")
    cannot_be_read(site.having(name, half[:-3]), device_of(name), "cut short")


def test_the_end_in_a_banner_is_no_end():
    site = conforming(QUARRY)
    name = "core1/show_running-config.txt"
    text = site.text(name).replace("is only part of this banner.\n", "end\n")
    cannot_be_read(site.having(name, text[: text.index("line con 0")]), "core1", "cut short")


def cuts_within_statements() -> list[int]:
    """Return offsets of an export at which a line is carried on to the next, or a quoted value is open."""
    text = conforming(QUARRY).text("gw1.rsc")
    wrapped = [match.end() for match in re.finditer(r"\\\n", text)]
    quoted = [match.start() + 5 for match in re.finditer(r'="[^"]{8,}"', text)]
    return sorted(wrapped[::3] + quoted)


def test_an_export_cut_within_a_statement_is_cut_short():
    site = conforming(QUARRY)
    for offset in cuts_within_statements():
        text = site.text("gw1.rsc")[:offset]
        cannot_be_read(site.having("gw1.rsc", text), "gw1", "cut short")
        cannot_be_read(site.having("gw1.rsc", text.rstrip("\n")), "gw1", "cut short")


@pytest.mark.parametrize(("name", "file"), EVERY_FILE, ids=["/".join(pair) for pair in EVERY_FILE])
def test_a_cut_anywhere_is_a_report_and_no_exception(name, file):
    site = conforming(name)
    alone = Site(site.plan, {other: site.files[other] for other in site.files_of(device_of(file))})
    for offset in share(range(1, len(site.files[file]), 17), lambda at: f"{name} {file} {at}", quick=60, ci=8):
        report = alone.having(file, site.files[file][:offset]).audited()
        counts = part_of(report, device_of(file)).counts
        assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified, offset


@pytest.mark.parametrize("kept", [200, 2001, 5001])
@pytest.mark.parametrize("device", ONE_OF_EACH)
def test_utf_16_cut_off_does_not_conform(device, kept):
    site = conforming(QUARRY)
    data = site.text(ONE_OF_EACH[device]).encode("utf-16")
    report = site.having(ONE_OF_EACH[device], data[: min(kept, len(data) // 2)]).audited()
    assert part_of(report, device).verdict != "conforming"
    assert report.verdict != "conforming"


@pytest.mark.parametrize("device", ONE_OF_EACH)
def test_a_quote_that_nobody_closes_hides_nothing(device):
    site = conforming(QUARRY)
    name = ONE_OF_EACH[device]
    closed, opened = {
        "core1": ("banner login ^C", "banner login #"),
        "gw1": ('comment="carrier\'s modem"', "comment=\"carrier's modem"),
        "ap1": ("option ipaddr '10.40.99.21'", "option ipaddr '10.40.99.21"),
    }[device]
    report = site.having(name, site.text(name).replace(closed, opened)).audited()
    assert report.verdict != "conforming"
    assert part_of(report, device).reason or [f for f in report.findings if f.device == device]


def test_only_a_listing_is_no_configuration():
    site = conforming(QUARRY)
    cannot_be_read(site.without("core1/show_running-config.txt"), "core1", "configuration|cut short")


@pytest.mark.parametrize("missing", sorted({*UCI} - {"dhcp"}))
def test_a_missing_uci_file_is_asked_for(missing):
    """A device without the file dhcp serves no addresses; the others every device has."""
    report = conforming(QUARRY).without(f"ap1/{missing}").audited()
    part = part_of(report, "ap1")
    assert report.exit_code == 3
    assert f"/etc/config/{missing}" in (part.reason or "")
    assert part.counts.unverified > 0


@pytest.mark.parametrize("kept", UCI)
def test_one_uci_file_alone_does_not_conform(kept):
    site = conforming(QUARRY)
    report = site.without(*(f"ap1/{name}" for name in (*UCI, "uhttpd") if name != kept)).audited()
    assert report.exit_code == 3
    assert "also save" in (part_of(report, "ap1").reason or "")


@pytest.mark.parametrize("name", [*(f"ap1/{name}" for name in UCI), "core1/show_vlan_brief.txt"])
def test_an_empty_file_among_others_is_told(name):
    report = conforming(QUARRY).having(name, b"").audited()
    assert report.exit_code == 3
    assert part_of(report, device_of(name)).reason


@pytest.mark.parametrize("device", ["core1", "gw1"])
def test_a_script_in_front_of_a_configuration_spoils_it(device):
    script = next(case["text"] for case, of in NO_CAPTURES if of == device and "script" in case["case"])
    name = ONE_OF_EACH[device]
    site = conforming(QUARRY)
    cannot_be_read(site.having(name, script + site.text(name)), device, "script")


@pytest.mark.parametrize(
    ("device", "text"),
    [
        ("core1", "interface GigabitEthernet1/0/9\n switchport access vlan 20\n switchport mode access\nend\n"),
        ("gw1", "/ip address\nadd address=10.40.10.1/24 interface=vlan10-staff network=10.40.10.0\n"),
        ("gw1", "/system identity\nset name=gw1\n"),
    ],
    ids=["one interface", "one section", "the name alone"],
)
def test_part_of_a_configuration_does_not_conform(device, text):
    report = only(device, text).audited()
    assert report.exit_code in (1, 3)
    assert part_of(report, device).verdict != "conforming"


def test_two_configurations_of_one_device_are_not_mixed():
    site = conforming(QUARRY)
    old = site.text("core1/show_running-config.txt").replace("allowed vlan 10,40,99", "allowed vlan 10,40,50,99")
    report = Site(site.plan, {"core1.cfg": old.encode(), **site.files}).audited()
    assert report.verdict != "conforming"


def test_every_device_damaged_at_once_is_a_report_all_the_same():
    site = conforming(QUARRY)
    report = Site(site.plan, dict.fromkeys(site.files, b"\x00\xff" * 50)).audited()
    assert {part.outcome for part in report.devices} == {"not readable"}
    assert report.counts.conforming == 0
    assert report.exit_code == 3
