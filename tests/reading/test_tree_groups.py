"""Statements that hold by groups: braces and whole paths, shapes of names, which of two values counts.

Source: the Junos CLI user guide on configuration groups, from memory.
"""

from __future__ import annotations

from auditor.areas import read
from auditor.reading.source import CaptureFile, Disposition

PORT = "set interfaces {0} unit 0 family ethernet-switching interface-mode access\n"
SWITCH = "set system host-name annex\n" + PORT.format("ge-0/0/1") + PORT.format("ge-0/0/2") + PORT.format("xe-0/1/0")


def reading(text: str):
    return read("juniper_junos", [CaptureFile("annex.cfg", (SWITCH + text).encode())])


def off(text: str) -> set[str]:
    found = reading(text)
    assert found.complete, found.quoted_not_understood()
    return {name for name, port in found.state.ports.items() if not port.enabled}


def test_a_shape_stands_for_the_names_that_are_there():
    group = "set groups G interfaces <ge-*> disable\nset apply-groups G\n"
    assert off(group) == {"ge-0/0/1", "ge-0/0/2"}
    assert off(group.replace("<ge-*>", "<*>")) == {"ge-0/0/1", "ge-0/0/2", "xe-0/1/0"}
    assert off(group.replace("<ge-*>", "<ge-0/0/[23]>")) == {"ge-0/0/2"}
    assert off(group.replace("<ge-*>", "<ge-1/*>")) == set()
    assert off(group.replace("<ge-*>", "ge-0/0/2")) == {"ge-0/0/2"}


def test_a_group_holds_below_the_place_that_applies_it():
    group = "set groups G interfaces <*> disable\n"
    assert off(group) == set()
    assert off(group + "set interfaces ge-0/0/2 apply-groups G\n") == {"ge-0/0/2"}
    assert off(group + "set interfaces apply-groups G\n") == {"ge-0/0/1", "ge-0/0/2", "xe-0/1/0"}
    assert off(group + "set vlans apply-groups G\n") == set()


def test_a_group_is_kept_away_from_a_place():
    group = "set groups G interfaces <*> disable\nset apply-groups G\n"
    assert off(group + "set interfaces ge-0/0/2 apply-groups-except G\n") == {"ge-0/0/1", "xe-0/1/0"}
    assert off(group + "set interfaces apply-groups-except G\n") == set()


def test_a_shape_stands_for_the_ports_of_a_range_too():
    text = "set interfaces interface-range R member-range ge-0/0/5 to ge-0/0/6\nset apply-groups G\n"
    assert off(text + "set groups G interfaces <ge-*> disable\n") == {"ge-0/0/1", "ge-0/0/2", "ge-0/0/5", "ge-0/0/6"}
    assert off(text + "set groups G interfaces <xe-*> disable\n") == {"xe-0/1/0"}


def test_what_stands_there_is_worth_more_and_the_first_group_more_than_the_second():
    groups = "set groups A interfaces <*> description a\nset groups B interfaces <*> description b\n"
    applied = "set apply-groups A\nset apply-groups B\nset interfaces ge-0/0/2 apply-groups B\n"
    found = reading(groups + applied + "set interfaces ge-0/0/1 description own\n").state.ports
    assert [found[name].description for name in ("ge-0/0/1", "ge-0/0/2", "xe-0/1/0")] == ["own", "b", "a"]
    assert reading("set groups A system host-name other\nset apply-groups A\n").state.hostname == "annex"


def test_a_group_that_applies_another():
    text = "set groups A interfaces <ge-*> apply-groups B\nset groups B interfaces <*> disable\nset apply-groups A\n"
    assert off(text) == {"ge-0/0/1", "ge-0/0/2"}


def test_a_line_of_a_group_is_told_by_what_it_does_where_it_holds():
    found = reading(
        "set groups G interfaces <ge-*> colour blue\nset groups H system services telnet\nset apply-groups G\n"
    )
    kinds = [Disposition(kind) for kind in found.lines[0].kinds[-3:]]
    assert kinds == [Disposition.NOT_UNDERSTOOD, Disposition.HARMLESS, Disposition.READ]


def test_a_group_that_is_not_there_is_not_understood():
    assert not reading("set apply-groups ELSEWHERE\n").complete
    assert not reading(
        "set groups G when member member1\nset groups G system services telnet\nset apply-groups G\n"
    ).complete


def test_what_is_switched_off_stays_open_where_a_group_speaks_of_it():
    text = "set groups G system services telnet connection-limit 5\nset apply-groups G\nset system services telnet\n"
    assert reading(text).complete
    found = reading(text + "deactivate system services telnet\n")
    assert not found.complete
    assert "telnet" not in (found.state.management.logins or ())
