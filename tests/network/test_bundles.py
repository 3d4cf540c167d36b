"""Bundles whose two ends do not meet: nothing is said to pass there.

Which ways meet is IEEE 802.1AX (an aggregate of LACP needs an active end; one that nobody negotiates meets its like).
"""

from __future__ import annotations

import pytest

from auditor.reading.source import Ref
from auditor.topology.aggregation import Aggregation
from tests.compare.site import conforming

MEET = [("active", "active"), ("active", "passive"), ("static", "static"), ("PAgP", "PAgP")]
MISS = [
    *(("passive", "passive"), ("active", "static"), ("passive", "static"), ("PAgP", "active"), ("PAgP", "static")),
    *(("active static", "active"), ("active static", "static"), ("active passive", "passive")),
]
CHANGED = {
    "arista_eos": ("hall1.cfg", "   channel-group 1 mode active", "   channel-group 1 mode on", "Port-Channel1"),
    "aruba_aoscx": ("hall1.cfg", "    lacp mode active\n", "", "lag1"),
    "cisco_s300": ("core1.cfg", " channel-group 1 mode auto", " channel-group 1 mode on", "Port-channel1"),
}


def made(ways: str) -> Aggregation:
    return Aggregation(frozenset(ways.split()), (Ref(0, 1),))


@pytest.mark.parametrize(("one", "other"), MEET)
def test_ends_that_meet(one: str, other: str) -> None:
    assert made(one).meets(made(other))
    assert made(other).meets(made(one))


@pytest.mark.parametrize(("one", "other"), MISS)
def test_ends_that_do_not(one: str, other: str) -> None:
    assert not made(one).meets(made(other))
    assert not made(other).meets(made(one))


@pytest.mark.parametrize("platform", CHANGED)
def test_a_bundle_with_other_ways_at_its_ends_is_open_at_both(platform: str) -> None:
    file, old, new, port = CHANGED[platform]
    site = conforming(platform)
    report = site.having(file, site.text(file).replace(old, new)).audited()
    assert (report.exit_code, report.findings) == (3, [])
    settings = {(item.device, str(item.setting)) for item in report.unverified if item.cause == "overriding"}
    ends = next(ends for ends in site.plan.link_ends() if all(end[1] == port for end in ends))
    assert {(device, f"ports.{name}.enabled") for device, name in ends} == settings
    quoted = [line for device in report.devices for line in device.overriding]
    assert all("does not form" in line.why for line in quoted)
    assert any(path.state == "unverified" for path in report.services.paths)


@pytest.mark.parametrize("platform", CHANGED)
def test_one_port_of_a_bundle_that_differs_is_enough(platform: str) -> None:
    file, old, new, _ = CHANGED[platform]
    site = conforming(platform)
    report = site.having(file, site.text(file).replace(old, new, 1)).audited()
    assert report.exit_code == 3


def test_a_bundle_of_ports_that_are_told_different_ways_is_open_whatever_its_other_end_is() -> None:
    assert not made("active passive").mixed
    assert made("static active").mixed
    site = conforming("cisco_s300")
    text = site.text("core1.cfg").replace(" channel-group 1 mode auto", " channel-group 1 mode on", 1)
    report = site.having("core1.cfg", text).without(*site.files_of("reading1")).audited()
    core = next(device for device in report.devices if device.name == "core1")
    assert [line.bears_on for line in core.overriding] == [["ports.Port-channel1.enabled"]] * 2
