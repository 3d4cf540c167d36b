"""Limits and overriding lines: what a line bears on comes with it from the reader to the report."""

from __future__ import annotations

from auditor.areas import read
from auditor.core.state import Setting
from auditor.reading.source import Bearing, CaptureFile, Disposition

TEXT = b"hostname core1\ninterface Ethernet1\n   description to 10.0.0.9\n   switchport access vlan 10\nend\n"


def test_a_line_that_overrides_says_what_it_bears_on_and_why():
    reading = read("arista_eos", [CaptureFile("core1.cfg", TEXT)])
    assert reading.bearing(Disposition.OVERRIDING) == reading.bearing(Disposition.LIMIT) == []
    bearing = Bearing("the VLAN is given at login", (Setting("ports", "Ethernet1", "untagged"),))
    reading.lines[0].mark(3, Disposition.OVERRIDING, bearing)
    (line,) = reading.bearing(Disposition.OVERRIDING)
    assert (line.file, line.line, line.text.strip()) == ("core1.cfg", 3, "description to 10.0.0.9")
    assert (line.why, line.bears_on) == ("the VLAN is given at login", ["ports.Ethernet1.untagged"])
    assert reading.bearing(Disposition.LIMIT) == []
