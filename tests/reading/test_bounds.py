"""Numbers and lines without measure: what a capture says is never expanded or read further than any device goes."""

from __future__ import annotations

import time
from itertools import pairwise, product

import pytest

from auditor.app.auditing import audit
from auditor.areas import read
from auditor.core.addresses import subtract_ranges
from auditor.core.port_names import expand_names
from auditor.core.values import VlanSet
from auditor.evidence import Recorded
from auditor.platforms import catalogue
from auditor.platforms.names import names_of
from auditor.reading.source import CaptureFile
from tests.compare.site import TODAY, Site, device_of, drifted, edited
from tests.conftest import FIXTURES

QUARRY = "quarry-road"
SOON = 20.0
"""Seconds that nothing here comes near; what is expanded takes minutes, or all of the memory."""


def vlan_ids(text: str) -> Site:
    """Return the clinic with other VLAN ids in a row of its gateway's bridge table, which has a drift to correct."""
    site = drifted(QUARRY)
    return site.having("gw1.rsc", edited(site.text("gw1.rsc"), "vlan-ids=10\n", f"vlan-ids={text}\n"))


@pytest.mark.parametrize("text", ["1-99999999", "10,1-999999999", "1-4095", ",".join(["1-4094"] * 20_000)])
def test_a_list_of_vlans_is_bounded_before_it_is_expanded(text: str):
    begun = time.monotonic()
    report = vlan_ids(text).report()
    assert time.monotonic() - begun < SOON
    if len(text) < 40:
        assert any("vlan-ids" in line.text for device in report.devices for line in device.not_understood)


def test_lists_of_many_ranges_are_read_in_one_go():
    begun = time.monotonic()
    assert len(VlanSet.parse(",".join(["1-4094", "2-4093"] * 100_000))) == 4094
    holes = [(n, n) for n in range(0, 400_000, 2)]
    assert len(subtract_ranges([(0, 2**24)], holes)) == len(holes)
    assert subtract_ranges(holes, [(n + 1, last + 1) for n, last in holes]) == holes
    for names in (expand_names, names_of("cisco_ios").planned, names_of("hp_procurve").names):
        with pytest.raises(ValueError, match="any device has"):
            names(",".join(f"{slot}/0/1-1000" for slot in range(50_000)))
    assert time.monotonic() - begun < SOON


def test_ranges_without_others_are_the_same_as_without_each_number():
    """All pairs of sets of the numbers to six, as ranges."""
    sets = [[n for n in range(6) if bits >> n & 1] for bits in range(64)]
    for whole, holes in product(sets, repeat=2):
        left = subtract_ranges([(n, n) for n in whole], [(n, n) for n in holes])
        assert [n for low, high in left for n in range(low, high + 1)] == [n for n in whole if n not in holes]
        assert all(one[1] + 1 < other[0] for one, other in pairwise(left))


LONG = "x y z " * 900_000


@pytest.mark.parametrize("name", ["gw1.rsc", "core1/show_running-config.txt", "ap1/network"])
def test_a_line_longer_than_any_is_not_read_and_its_file_is_not_readable(name: str):
    site = drifted(QUARRY)
    site = site.having(name, f"{site.text(name)}{LONG}\n")
    begun = time.monotonic()
    for source in (site, Recorded(site.plan, site)):
        report = audit(site.plan, source, today=TODAY)
        device = next(device for device in report.devices if device.name == device_of(name))
        assert device.outcome == "not readable"
        assert f"{name}: line {len(site.text(name).splitlines())} is longer than any line" in (device.reason or "")
    assert time.monotonic() - begun < SOON


@pytest.mark.parametrize("platform", catalogue.names())
def test_lines_of_any_length_that_is_read_are_read_in_no_time(platform: str):
    text = "\n".join(["x y z " * 10_000] * 3)
    begun = time.monotonic()
    assert not read(platform, [CaptureFile("a.cfg", text.encode())]).complete
    assert time.monotonic() - begun < SOON


@pytest.mark.parametrize("end", ["\u2028", "\u2029", "\x85", "\x0b", "\x0c"])
@pytest.mark.parametrize("platform", ["vyos", "juniper_junos", "cisco_ios", "mikrotik_routeros", "fortinet"])
def test_a_file_with_the_line_ends_of_no_device_is_not_readable(platform: str, end: str):
    case = min((FIXTURES / "platforms" / platform).glob("*/running.*"))
    text = case.read_text(encoding="utf-8").replace("\n", end)
    assert read(platform, [CaptureFile("a.cfg", text.encode())]).problem
