"""Lines that override where what they name is not defined, and are what they always were where it is.

What the lines do is from memory of the command references.
"""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.core.report import BearingLine
from auditor.reading.source import CaptureFile, Disposition

IOS = """hostname lantern
!
{}
!
interface GigabitEthernet1/0/1
 switchport mode access
{}
!
end
"""
AP = """hostname lantern
!
aaa new-model
{}
!
dot11 ssid meadow
{}
!
interface Dot11Radio0
 ssid meadow
!
end
"""
CX = """hostname lantern
{}
interface vlan 10
    ip address 192.0.2.1/25
{}
"""
ASKED, JOINS = "aaa authentication login joining group far", "   authentication open eap joining"
DEFINED = {
    ("cisco_ios", IOS, "snmp-server community invented view ALL RO", ""): "snmp-server view ALL iso included",
    ("cisco_ios", IOS, "ntp server 192.0.2.9 key 4", ""): "ntp trusted-key 4",
    ("cisco_ios", IOS, "ntp authenticate", ""): "ntp trusted-key 4",
    ("cisco_ios", IOS, "", " authentication port-control auto"): "radius server meadow",
    ("cisco_ios", AP, "", "   authentication open eap joining"): "aaa authentication login joining group radius",
    ("cisco_ios", AP, f"{ASKED}\naaa group server radius far\n server name meadow", JOINS): "radius server meadow",
    ("aruba_aoscx", CX, "ntp authentication", ""): "ntp trusted-key 4",
}
"""By platform, text and what stands in it: the line that defines what is named there."""


def overriding(platform: str, text: str) -> list[BearingLine]:
    return read(platform, [CaptureFile("show_running-config.txt", text.encode())]).bearing(Disposition.OVERRIDING)


@pytest.mark.parametrize(("case", "other"), DEFINED.items())
def test_what_is_named_has_to_be_defined(case: tuple[str, str, str, str], other: str) -> None:
    platform, text, above, inside = case
    named = (above or inside).split("\n")[-1].split()
    assert [line.text.split()[:2] for line in overriding(platform, text.format(above, inside))] == [named[:2]]
    assert overriding(platform, text.format(f"{other}\n!\n{above}", inside)) == []


@pytest.mark.parametrize(
    ("above", "inside"),
    [("", JOINS), (ASKED, ""), ("aaa authentication login joining group near", JOINS), (ASKED, f"{JOINS}s")],
)
def test_what_nothing_leads_to_overrides_nothing(above: str, inside: str) -> None:
    known = "aaa group server radius near\n server name field\nradius server field"
    text = AP.format(f"{known}\naaa group server radius far\n server name meadow\n{above}", inside)
    assert [line.text for line in overriding("cisco_ios", text) if "meadow" in line.text] == []


def test_a_name_that_others_begin_with_defines_nothing() -> None:
    above = "snmp-server community invented view ALL RO\nsnmp-server view ALLOTTED iso included"
    assert [line.line for line in overriding("cisco_ios", IOS.format(above, ""))] == [3]


def test_what_a_banner_says_defines_nothing() -> None:
    above = "banner motd ^C\nradius server meadow\n^C"
    assert overriding("cisco_ios", IOS.format(above, " authentication port-control auto"))


def test_an_address_beside_it_is_looked_for_in_its_own_section() -> None:
    relay = "    ip bootp-gateway 192.0.2.{}\ninterface vlan 20\n    ip address 192.0.2.129/25"
    assert overriding("aruba_aoscx", CX.format("", relay.format(1))) == []
    assert [line.line for line in overriding("aruba_aoscx", CX.format("", relay.format(129)))] == [5]
