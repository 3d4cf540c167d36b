"""The day on which a device says that it was read: lines that it prints at that moment, and no date of a change."""

from __future__ import annotations

import re
from datetime import date

import pytest

from auditor.platforms import catalogue
from auditor.reading.days import ReadOn
from auditor.reading.source import Disposition
from tests.reading.texts import IOS, ROUTEROS, kinds, not_understood, reading_of

PLATFORMS = catalogue.names()


def day_of(platform: str, text: str) -> ReadOn | None:
    (found,) = reading_of(platform, text).days
    return found


@pytest.mark.parametrize(
    ("line", "day"),
    [
        # the forms of RouterOS 7.10 and later, and of earlier ones, as published exports have them
        ("# 2026-11-02 10:00:00 by RouterOS 7.16", date(2026, 11, 2)),
        ("# apr/03/2022 18:36:39 by RouterOS 7.1.5", date(2022, 4, 3)),
        ("# jan/02/1970 00:01:25 by RouterOS 7.8", date(1970, 1, 2)),
        ("# ____-__-__ __:__:__ by RouterOS 7.18", None),
        ("# feb/31/2026 18:36:39 by RouterOS 7.1.5", None),
        ("# 2026-13-02 10:00:00 by RouterOS 7.16", None),
        ("# fry/03/2022 18:36:39 by RouterOS 7.1.5", None),
        ("# 2026-11-02 10:00:00 by another hand", None),
        ("# changed 2026-11-02 10:00:00 by RouterOS 7.16", None),
    ],
)
def test_an_export_says_when_it_was_made(line: str, day: date | None):
    found = day_of(ROUTEROS, f"{line}\n/system identity\nset name=gw\n")
    assert found == (ReadOn(day, 1) if day else None)


def test_the_oldest_of_several_exports_in_one_file_counts():
    text = "# 2026-11-02 10:00:00 by RouterOS 7.16\n/ip address\n# 2026-10-01 10:00:00 by RouterOS 7.16\n/ip pool\n"
    assert day_of(ROUTEROS, text) == ReadOn(date(2026, 10, 1), 3)


IOS_LINES = "hostname sw\n!\nvlan 10\n name shop\n!\n{}end\n"


@pytest.mark.parametrize(
    ("line", "day"),
    [
        # "exec prompt timestamp" (Cisco IOS Terminal Services command reference); the forms from published outputs
        ("Time source is NTP, 16:42:57.227 UTC Wed Mar 7 2012", date(2012, 3, 7)),
        ("Time source is NTP, .08:55:28.918 EDT Mon Mar 13 2023", date(2023, 3, 13)),
        ("Time source is hardware calendar, *05:45:30.107 UTC Fri Nov 29 2024", date(2024, 11, 29)),
        ("No time source, *11:47:36.151 UTC Wed Nov 7 2018", None),
    ],
)
def test_an_answer_with_its_time_says_when_it_was_given(line: str, day: date | None):
    text = f"sw#show running-config\nLoad for five secs: 5%/0%; one minute: 6%; five minutes: 5%\n{line}\n\n"
    text += IOS_LINES.format("")
    reading = reading_of(IOS, text)
    assert reading.days == [ReadOn(day, 3) if day else None]
    assert kinds(reading)[:3] == ["noise"] * 3
    assert reading.complete


def test_a_banner_says_nothing_of_the_day():
    line = "Time source is NTP, 16:42:57.227 UTC Wed Mar 7 2001"
    reading = reading_of(IOS, IOS_LINES.format(f"banner motd ^C\n{line}\n^C\n"))
    assert Disposition.LITERAL in reading.lines[0].kinds
    assert reading.days == [None]


CHANGED = (
    "! Last configuration change at 21:32:42 UTC Tue Apr 7 2026 by admin",
    "! NVRAM config last updated at 17:56:48 EDT Wed Jun 10 2026 by admin",
    "! No configuration change since last restart",
    "! Startup-config last modified at Wed Feb 19 08:34:31 2014 by admin",
    "## Last commit: 2025-06-12 04:38:03 EDT by root",
    "## Last changed: 2025-06-12 04:38:03 EDT",
    "# Last modified: 2025-06-12 04:38:03",
    "; J9019A Configuration Editor; Created on release #Q.10.05",
    "! Generated: 2026-03-28",
    "# 2026-11-02 10:00:00",
    "Mar 7 2012",
)
"""Dates of changes, of releases and of people's hands, which are none of a reading."""


@pytest.mark.parametrize("platform", PLATFORMS)
def test_a_date_of_change_is_no_day_of_reading(platform: str):
    for line in CHANGED:
        assert day_of(platform, f"{line}\n") is None, line


def test_the_lists_are_closed_and_whole():
    """Which platforms print such a line is known of all; each pattern has its three groups and begins with a word."""
    listed = {name: catalogue.get(name).patterns("clock") for name in PLATFORMS}
    assert {name for name, patterns in listed.items() if patterns} == {IOS, ROUTEROS}
    for pattern in (pattern for patterns in listed.values() for pattern in patterns):
        assert sorted(re.compile(pattern).groupindex) == ["day", "month", "year"]
        assert re.match(r"[A-Z#]\w* ", pattern)


def test_such_a_line_is_understood_in_every_file_of_a_capture():
    load, time = "Load for five secs: 5%/0%; one minute: 6%; five minutes: 5%", "16:42:57.227 UTC Wed Mar 7 2012"
    brief = "VLAN Name   Status    Ports\n---- ------ --------- -----\n10   shop   active    Gi0/1\n"
    text = f"sw#show vlan brief\n{load}\nTime source is NTP, {time}\n\n{brief}"
    reading = reading_of(IOS, text)
    assert not_understood(reading) == []
    assert reading.days == [ReadOn(date(2012, 3, 7), 3)]
