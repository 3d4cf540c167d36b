"""Ports that are put into VLANs one by one: tagged or untagged, with a VLAN of their own for untagged frames.

What each line does is from memory of the vendors' command references; the words are those of two dialects that have it.
"""

from __future__ import annotations

import pytest

from tests.reading.texts import not_understood, reading_of, state_of

ADDED = "switchport general allowed vlan add"


def general(*lines: str, platform: str = "cisco_s300", mode: str = "general") -> tuple[dict[str, object], list[str]]:
    """Return a port with these lines, and the lines that nobody could read."""
    body = "".join(f" {line}\n" for line in (f"switchport mode {mode}", *lines))
    reading = reading_of(platform, f"hostname sw\ninterface gigabitEthernet 1/0/1\n{body}exit\nend\n")
    (port,) = state_of(reading)["ports"].values()
    return port, not_understood(reading)


@pytest.mark.parametrize(
    ("lines", "mode", "untagged", "tagged"),
    [
        ((), "access", 1, ""),
        ((f"{ADDED} 10 tagged",), "trunk", 1, "10"),
        ((f"{ADDED} 10",), "trunk", 1, "10"),
        (
            (f"{ADDED} 10 untagged", "switchport general pvid 10", "switchport general allowed vlan remove 1"),
            "access",
            10,
            "",
        ),
        ((f"{ADDED} 10 untagged", "switchport general pvid 10"), "trunk", 10, "1"),
        ((f"{ADDED} 10 untagged", "switchport general pvid 10", "switchport forbidden default-vlan"), "access", 10, ""),
        ((f"{ADDED} 10 tagged", "switchport general pvid 10"), "trunk", None, "1,10"),
        ((f"{ADDED} 10,20 untagged", f"{ADDED} 10-20 tagged"), "trunk", 1, "10-20"),
        (("switchport general acceptable-frame-type tagged-only", f"{ADDED} 10"), "trunk", None, "1,10"),
        (("switchport access vlan 30", "switchport trunk native vlan 40"), "access", 1, ""),
    ],
)
def test_a_general_port_is_what_its_lines_make_of_it(lines, mode, untagged, tagged):
    port, unread = general(*lines)
    assert (port["mode"], port["untagged"], port["tagged"]) == (mode, untagged, tagged)
    assert unread == []


def test_a_second_untagged_vlan_is_never_lost():
    port, unread = general(
        f"{ADDED} 10,20 untagged", "switchport general allowed vlan remove 1", "switchport general pvid 10"
    )
    assert (port["untagged"], port["tagged"]) == (10, "20")
    assert unread == [f"{ADDED} 10,20 untagged"]


def test_lines_of_another_mode_do_not_count():
    port, unread = general(f"{ADDED} 10,20 untagged", "switchport access vlan 30", mode="access")
    assert (port["mode"], port["untagged"], port["tagged"], unread) == ("access", 30, "", [])


@pytest.mark.parametrize(
    ("lines", "untagged", "tagged"),
    [
        ((), 1, ""),
        (("switchport trunk allowed vlan 10,20",), 1, "10,20"),
        (("switchport trunk allowed vlan 10", "switchport trunk allowed vlan 20", "switchport pvid 20"), 20, "1,10"),
        (("switchport trunk allowed vlan 10", "no switchport trunk allowed vlan 1"), None, "10"),
    ],
)
def test_where_the_list_of_a_trunk_adds_up(lines, untagged, tagged):
    port, unread = general(*lines, platform="tplink_jetstream", mode="trunk")
    assert (port["mode"], port["untagged"], port["tagged"], unread) == ("trunk", untagged, tagged, [])


V1, V3 = "v1.3.5.58 / R750\n", "v3.1.1.7 / RCBS\n"


@pytest.mark.parametrize(
    ("version", "before", "lines", "mode", "untagged", "tagged"),
    [
        (V1, "", "", "access", 1, ""),
        (V3, "", "", "access", 1, ""),
        (V1, "", "switchport trunk native vlan 10", "trunk", 10, ""),
        (V3, "", "switchport trunk native vlan 10", "access", 1, ""),
        (V1, "", "switchport trunk allowed vlan add 20,30", "trunk", 1, "20,30"),
        ("", "", "switchport trunk allowed vlan add 20,30", "trunk", 1, "20,30"),
        (V3, "", "switchport mode trunk", "trunk", 1, "2-4094"),
        (V3, "", "switchport mode trunk\n switchport trunk allowed vlan 20", "trunk", None, "20"),
        ("", "", "switchport access vlan 20", "access", 20, ""),
        # an access mode is only printed where it is not what every port has
        ("", "interface gi2\n switchport mode access\n", "switchport access vlan 20", "trunk", 1, ""),
    ],
)
def test_what_a_port_is_without_a_mode_line_depends_on_the_firmware(version, before, lines, mode, untagged, tagged):
    header = f"config-file-header\nsw\n{version}@\n"
    reading = reading_of("cisco_s300", f"{header}hostname sw\n{before}interface gi1\n {lines}\n!\nexit\n")
    port = state_of(reading)["ports"]["GigabitEthernet1"]
    assert (port["mode"], port["untagged"], port["tagged"]) == (mode, untagged, tagged)


def test_a_vlan_s_interface_names_the_vlan_but_does_not_make_it():
    text = (
        "vlan database\nvlan 10,20\nexit\ninterface vlan 10\n name office\n!\ninterface vlan 30\n name ghost\n!\nexit\n"
    )
    reading = reading_of("cisco_s300", text)
    assert state_of(reading)["vlans"] == {"10": {"name": "office"}, "20": {"name": "20"}}


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("vlan database\nvlan 10\nexit\ninterface gi1\n shutdown\n!\nexit\n", True),
        ("vlan database\nvlan 10\nexit\ninterface gi1\n shutdown\n!\nexit\nip default-gateway 10.0.0.1\n", True),
        ("vlan database\nvlan 10\nexit\ninterface gi1\n shutdown\n!\n", False),
        ("vlan database\nvlan 10\n", False),
    ],
)
def test_the_last_line_must_stand_below_the_last_block(text, whole):
    assert reading_of("cisco_s300", text).complete == whole
