"""Lines that take back what a line above them said. What "no" does is common practice, no source."""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.core.report import BearingLine
from auditor.reading.source import CaptureFile, Disposition
from auditor.reading.taken_back import WHY

PORT = """hostname lantern
!
interface GigabitEthernet0/0
 description to the carrier
 ip address 192.0.2.2 255.255.255.252
{}
!
ntp server 192.0.2.9
{}
end
"""
TAKEN_BACK = {
    (" no ip address", ""): ["uplinks.GigabitEthernet0/0"],
    (" no description", ""): ["ports.GigabitEthernet0/0.description"],
    ("", "interface GigabitEthernet0/0\n no description"): ["ports.GigabitEthernet0/0.description"],
    ("", "no hostname"): ["hostname"],
}
NOT_SO = [
    (" no ip proxy-arp", ""),
    (" no shutdown", ""),
    (" shutdown\n no shutdown", ""),
    ("", "no ntp server 192.0.2.19"),
    ("", "interface GigabitEthernet0/1\n no description"),
]


def overriding(inside: str, below: str) -> list[BearingLine]:
    capture = CaptureFile("show_running-config.txt", PORT.format(inside, below).encode())
    return read("cisco_ios", [capture]).bearing(Disposition.OVERRIDING)


@pytest.mark.parametrize(("inside", "below"), TAKEN_BACK)
def test_what_was_taken_back_is_open(inside: str, below: str) -> None:
    found = overriding(inside, below)
    assert [line.why for line in found] == [WHY]
    assert any(on.startswith(TAKEN_BACK[inside, below][0]) for on in found[0].bears_on)


@pytest.mark.parametrize(("inside", "below"), NOT_SO)
def test_other_lines_with_a_no_take_nothing_back(inside: str, below: str) -> None:
    assert overriding(inside, below) == []


def test_a_no_before_the_line_takes_nothing_back() -> None:
    text = PORT.format("", "").replace(" description", " no description\n description")
    reading = read("cisco_ios", [CaptureFile("running.txt", text.encode())])
    assert reading.bearing(Disposition.OVERRIDING) == []
