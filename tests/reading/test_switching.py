"""Access and trunk ports: operations on the allowed list, native VLANs, and which lines the mode lets count."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from netutils.vlan import vlanlist_to_config

from auditor.areas import read
from auditor.core.state import Setting
from auditor.core.values import ALL_VLANS, VlanSet, allowed_vlans
from auditor.reading.source import CaptureFile
from tests.reading.texts import ios, not_understood, state_of

TRUNK = "interface GigabitEthernet0/1\n switchport mode trunk\n"


def port_of(lines: str) -> dict[str, object]:
    reading = ios(f"interface GigabitEthernet0/1\n{lines}")
    assert not_understood(reading) == []
    found: dict[str, object] = state_of(reading)["ports"]["GigabitEthernet0/1"]
    return found


@pytest.mark.parametrize(
    ("operations", "tagged", "untagged"),
    [
        ([], "2-4094", 1),
        (["all"], "2-4094", 1),
        (["none"], "", None),
        (["10,20-22"], "10,20-22", None),
        (["1,10"], "10", 1),
        (["10", "add 20"], "10,20", None),
        (["10,20,30", "remove 20"], "10,30", None),
        (["except 2-4093"], "4094", 1),
        (["except 1"], "2-4094", None),
        (["10", "20"], "20", None),
        (["none", "add 5-7", "remove 6", "add 6,9"], "5-7,9", None),
        (["10", "all", "remove 1-4000"], "4001-4094", None),
        (["10", "none"], "", None),
        (["add 20"], "2-4094", 1),
        (["remove 1"], "2-4094", None),
        (["10, 20"], "10,20", None),
    ],
)
def test_the_allowed_list_is_what_its_lines_make_of_it(operations: list[str], tagged: str, untagged: int | None):
    lines = "".join(f" switchport trunk allowed vlan {operation}\n" for operation in operations)
    port = port_of(f" switchport mode trunk\n{lines}".rstrip())
    assert (port["mode"], port["tagged"], port["untagged"]) == ("trunk", tagged, untagged)


VIDS = st.sets(st.integers(1, 4094), max_size=30)


@given(st.lists(st.tuples(st.sampled_from(["", "add", "remove", "except"]), VIDS.filter(bool)), max_size=6))
def test_operations_are_those_of_sets(operations: list[tuple[str, set[int]]]):
    # long lists are written by a general-purpose library, netutils.vlan.vlanlist_to_config, in lines of 48 characters
    expected = set(ALL_VLANS)
    lines = []
    for word, vids in operations:
        first, *more = vlanlist_to_config(sorted(vids), 48, 44, 3)
        rest = {"": "add", "except": "remove"}.get(word, word)
        lines += [f"{word} {first}".strip(), *(f"{rest} {part}" for part in more)]
        expected = {"": vids, "add": expected | vids, "remove": expected - vids, "except": set(ALL_VLANS) - vids}[word]
    assert allowed_vlans(lines) == VlanSet(expected)


@pytest.mark.parametrize(
    ("lines", "mode", "untagged", "tagged"),
    [
        (" switchport access vlan 10\n switchport trunk native vlan 9\n switchport mode access", "access", 10, ""),
        (" switchport access vlan 10\n switchport trunk allowed vlan 20\n switchport mode trunk", "trunk", None, "20"),
        (" switchport trunk allowed vlan 9\n switchport trunk native vlan 9\n switchport mode trunk", "trunk", 9, ""),
        (
            " switchport trunk native vlan 9\n switchport trunk allowed vlan 9-10\n switchport mode trunk",
            "trunk",
            9,
            "10",
        ),
        (
            " switchport trunk native vlan 9\n switchport trunk allowed vlan 10\n switchport mode trunk",
            "trunk",
            None,
            "10",
        ),
        (" switchport trunk native vlan tag\n switchport mode trunk", "trunk", None, "1-4094"),
        (" switchport mode access", "access", 1, ""),
        (" switchport mode dynamic auto\n switchport access vlan 10", "dynamic", 10, ""),
        (" switchport mode dynamic desirable", "dynamic", 1, ""),
        (" no switchport\n ip address 10.0.0.1 255.255.255.0\n switchport access vlan 10", "routed", None, ""),
        (" switchport mode trunk\n switchport mode access\n switchport access vlan 10", "access", 10, ""),
        (" switchport access vlan 10\n switchport access vlan 20\n switchport mode access", "access", 20, ""),
    ],
)
def test_the_mode_decides_which_lines_count(lines: str, mode: str, untagged: int | None, tagged: str):
    port = port_of(lines)
    assert (port["mode"], port["untagged"], port["tagged"]) == (mode, untagged, tagged)


@pytest.mark.parametrize(
    ("lines", "enabled"),
    [
        (" shutdown", False),
        (" shutdown ", False),
        (" no shutdown", True),
        (" shut", False),
        (" no shut", True),
        ("", True),
    ],
)
def test_a_port_is_on_unless_it_is_shut(lines: str, enabled: bool):
    assert port_of(f"{lines}\n switchport mode access".strip("\n"))["enabled"] is enabled


def test_a_voice_vlan_is_beside_the_mode():
    assert port_of(" switchport mode access\n switchport voice vlan 20")["voice"] == 20
    assert port_of(" switchport mode access\n switchport voice vlan dot1p")["voice"] is None


def test_bundle_and_members_are_ports_of_their_own():
    ports = state_of(
        ios(
            "interface GigabitEthernet0/1\n switchport mode trunk\n channel-group 1 mode active\n"
            "interface Port-channel1\n switchport trunk allowed vlan 10\n switchport mode trunk"
        )
    )["ports"]
    assert ports["Port-channel1"]["tagged"] == "10"
    assert set(ports) == {"GigabitEthernet0/1", "Port-channel1"}


@pytest.mark.parametrize(
    ("body", "shown"),
    [
        ("interface GigabitEthernet0/1\n switchport access vlan 5", False),
        ("vlan 3999\n name IDLE\ninterface GigabitEthernet0/1\n switchport access vlan 5", False),
        ("vlan internal allocation policy ascending\ninterface GigabitEthernet0/1\n switchport access vlan 5", False),
        ("vlan 5\ninterface GigabitEthernet0/1\n switchport access vlan 5", True),
        ("vtp mode transparent\ninterface GigabitEthernet0/1\n switchport access vlan 5", True),
        ("vtp mode server\ninterface GigabitEthernet0/1\n switchport access vlan 5", False),
        ("interface GigabitEthernet0/1\n ip address 10.0.0.1 255.255.255.0", True),
    ],
)
def test_no_vlan_line_is_not_no_vlan(body: str, shown: bool):
    assert ("vlans" not in {str(setting) for setting in ios(body).not_shown}) is shown


@pytest.mark.parametrize(
    "rows", ["", "1    default                          active    Gi1/0/1\n"], ids=["cut", "VLAN 1 alone"]
)
def test_a_list_of_vlans_shows_them_though_only_built_in_ones_are_in_it(rows):
    running = "hostname sw1\ninterface GigabitEthernet1/0/1\n switchport mode access\nend\n"
    heads = "VLAN Name                             Status    Ports\n---- ----- ------ -----\n"
    reading = read(
        "cisco_ios", [CaptureFile("run.txt", running.encode()), CaptureFile("vlans.txt", (heads + rows).encode())]
    )
    assert ("vlans" not in {str(setting) for setting in reading.not_shown}) is bool(rows)


@pytest.mark.parametrize(
    "body",
    [
        "no spanning-tree vlan 40",
        "spanning-tree vlan 1,10,30-33 priority 0",
        "vlan internal allocation policy ascending",
        "vlan access-map games 10\n match ip address 1",
        "no vlan accounting input",
        "dot11 vlan-name orchard vlan 34",
        "ip dhcp snooping vlan 10,20",
        "!vlan 10 name barn",
        "!   Fa0/3  - camera (VLAN 21 only - no VLAN 20)",
    ],
)
def test_lines_that_speak_of_vlans_declare_none(body: str):
    assert state_of(ios(body))["vlans"] == {}
    assert not_understood(ios(body)) == []


@pytest.mark.parametrize(
    ("body", "vlans"),
    [
        ("vlan 14-15 ", {"14": "VLAN0014", "15": "VLAN0015"}),
        ("vlan 10,20", {"10": "VLAN0010", "20": "VLAN0020"}),
        ("vlan 10\n name old\nvlan 10\n name new", {"10": "new"}),
        ("vlan 10\n name two  words", {"10": "two  words"}),
        ("vlan 10\nname flat", {"10": "flat"}),
    ],
)
def test_vlans_and_their_names(body: str, vlans: dict[str, str]):
    assert {vid: vlan["name"] for vid, vlan in state_of(ios(body))["vlans"].items()} == vlans


@pytest.mark.parametrize(
    ("field", "lines"),
    [
        ("mode", [4]),
        ("description", [3]),
        ("enabled", [8]),
        ("untagged", [5, 6, 7]),
        ("tagged", [6, 7]),
        ("", [2]),
    ],
)
def test_evidence_is_the_lines_of_a_setting(field: str, lines: list[int]):
    reading = ios(
        "interface GigabitEthernet0/1\n description up\n switchport mode trunk\n switchport trunk native vlan 10\n"
        " switchport trunk allowed vlan 10\n switchport trunk allowed vlan add 20\n no shutdown"
    )
    assert [line.line for line in reading.evidence_of(Setting("ports", "GigabitEthernet0/1", field))] == lines


def test_a_port_in_a_bundle_carries_what_the_bundle_carries():
    """Common practice, no source: a member's own VLAN lines count for nothing while it is in a bundle."""
    text = """hostname sw1
interface Port-channel1
 switchport mode trunk
 switchport trunk allowed vlan 10,20
interface GigabitEthernet1/0/1
 description spare
 switchport access vlan 30
 switchport mode access
 channel-group 1 mode active
interface GigabitEthernet1/0/2
 switchport access vlan 30
 switchport mode access
 channel-group 2 mode active
end
"""
    members = ("GigabitEthernet1/0/1", "GigabitEthernet1/0/2")
    reading = read("cisco_ios", [CaptureFile("running.cfg", text.encode())])
    bundle, one, two = (reading.state.ports[name] for name in ("Port-channel1", *members))
    assert (one.mode, str(one.tagged)) == (bundle.mode, str(bundle.tagged)) == ("trunk", "10,20")
    assert one.description == "spare"
    assert (two.mode, two.untagged) == ("access", 1), "a bundle of which no line says anything"
    quoted = [line.text.strip() for line in reading.evidence_of(Setting("ports", members[0], "tagged"))]
    assert quoted == ["switchport trunk allowed vlan 10,20", "channel-group 1 mode active"]
