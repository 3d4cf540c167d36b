"""Limits and overriding lines: what a line bears on comes with it from the reader to the report."""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.areas.open_settings import OpenLine
from auditor.core.state import Setting
from auditor.reading.source import Bearing, CaptureFile, Disposition, Ref

TEXT = b"hostname core1\ninterface Ethernet1\n   description to 10.0.0.9\n   switchport access vlan 10\nend\n"


def test_a_line_that_overrides_says_what_it_bears_on_and_why():
    reading = read("arista_eos", [CaptureFile("core1.cfg", TEXT)])
    assert reading.bearing(Disposition.OVERRIDING) == reading.bearing(Disposition.LIMIT) == []
    bearing = Bearing("the VLAN is given at login", (Setting("ports", "", "untagged"),), key="Et1")
    reading.lines[0].mark(3, Disposition.OVERRIDING, bearing)
    (line,) = reading.bearing(Disposition.OVERRIDING)
    assert (line.file, line.line, line.text.strip()) == ("core1.cfg", 3, "description to 10.0.0.9")
    assert (line.why, line.bears_on) == ("the VLAN is given at login", ["ports.Ethernet1.untagged"])
    assert reading.bearing(Disposition.LIMIT) == []


def test_a_line_bears_on_the_items_of_its_section_or_on_all():
    reading = read("arista_eos", [CaptureFile("core1.cfg", TEXT)])
    place = next(index for index, block in enumerate(reading.blocks) if block.header == "interface Ethernet1")
    on = (Setting("ports", "", "untagged"), Setting("gateways"))
    reading.lines[0].mark(3, Disposition.OVERRIDING, Bearing("why", on, section=place))
    reading.lines[0].mark(4, Disposition.LIMIT, Bearing("why", section=place))
    planned = [Setting("ports", name, field) for name in ("Ethernet1", "Ethernet2") for field in ("mode", "untagged")]
    assert reading.bearing(Disposition.OVERRIDING)[0].bears_on == ["ports.Ethernet1.untagged"]
    assert reading.bearing(Disposition.LIMIT)[0].bears_on == ["ports.Ethernet1"]
    assert list(reading.left_open(planned)) == [planned[1]]
    reading.lines[0].mark(3, Disposition.OVERRIDING, Bearing("why", on))
    assert reading.bearing(Disposition.OVERRIDING, planned)[0].bears_on == [str(planned[1]), str(planned[3])]


PORT = Setting("ports", "1")
SCOPE = Setting("dhcp", "10.0.0.0/24")


@pytest.mark.parametrize(
    ("on", "planned", "expected"),
    [
        # several fields of all items
        (["ports.untagged", "ports.voice"], [PORT._replace(field=n) for n in ("mode", "untagged", "voice")], [1, 2]),
        # a field that the plan leaves empty makes the whole item open, but not that of a port
        (["dhcp.options"], [SCOPE._replace(field="pools"), PORT._replace(field="mode")], [0]),
        (["ports.tagged"], [PORT._replace(field="mode")], []),
        (["management.snmp"], [Setting("management", "", "ntp")], []),
    ],
)
def test_a_line_of_the_whole_device_bears_on_each_field_that_it_names(on, planned, expected):
    places = tuple(Setting(area, "", field) for area, _, field in (each.partition(".") for each in on))
    line = OpenLine(Ref(0, 1), Disposition.OVERRIDING, "", places)
    assert line.bears_on(planned) == [planned[index] for index in expected]


def test_a_line_of_one_scope_makes_it_open_where_its_field_is_empty():
    line = OpenLine(Ref(0, 1), Disposition.OVERRIDING, "", (SCOPE._replace(field="options"),))
    other = Setting("dhcp", "10.0.1.0/24", "pools")
    assert line.bears_on([SCOPE._replace(field="pools"), other]) == [SCOPE._replace(field="pools")]
