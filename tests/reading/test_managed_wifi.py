"""Wi-Fi names that access points air which are managed from the same device.

Common practice, and FortiOS's CLI reference from memory: a name is aired by the radios of a profile that an access
point uses, where it is listed there or is of the kind that the radio airs.
"""

from __future__ import annotations

import pytest

from tests.reading.texts import not_understood, reading_of, state_of

NAMES = """config system interface
edit "home"
set ip 10.0.3.1 255.255.255.0
set type vap-switch
next
end
config wireless-controller vap
edit "home"
set ssid Home
next
edit "away"
set ssid Away
set local-bridging enable
set vlanid 7
next
edit "link"
set ssid Link
set mesh-backhaul enable
next
end
config wireless-controller vap-group
edit "both"
set vaps "home" "away"
next
end
"""
POINT = 'config wireless-controller wtp\nedit "ap"\nset admin {}\nset wtp-profile "hall"\nnext\nend\n'
END = "config router multicast\nend\n"


def radio(*statements: str, profile: str = "hall", number: int = 1) -> str:
    lines = "".join(f"set {statement}\n" for statement in statements)
    return f'config wireless-controller wtp-profile\nedit "{profile}"\nconfig radio-{number}\n{lines}end\nnext\nend\n'


def names(*parts: str, version: str = "7.2.5", admin: str = "enable"):
    header = f"#config-version=FGT60F-{version}-FW-build1517-230713:opmode=0:vdom=0:user=reader\n"
    reading = reading_of("fortinet", "".join((header, NAMES, *parts, POINT.format(admin), END)))
    assert not_understood(reading) == []
    return state_of(reading)["ssids"]


def on_air(*parts: str, version: str = "7.2.5", admin: str = "enable") -> list[str]:
    return [name for name, found in names(*parts, version=version, admin=admin).items() if found["enabled"]]


@pytest.mark.parametrize(
    ("statements", "aired"),
    [
        (["vap-all manual", 'vaps "home"'], ["Home"]),
        (["vap-all manual", 'vaps "both"'], ["Home", "Away"]),
        (["vap-all manual"], []),
        (["vap-all tunnel", 'vaps "away"'], ["Home"]),
        (["vap-all bridge"], ["Away"]),
        (["band 802.11ac"], ["Home"]),
        (["vap-all manual", 'vaps "both"', "mode disabled"], []),
        (["vap-all manual", 'vaps "both"', "mode monitor"], []),
    ],
)
def test_a_radio_airs_what_it_lists_or_what_is_of_its_kind(statements, aired):
    assert on_air(radio(*statements)) == aired


def test_before_6_4_a_radio_aired_every_name_for_clients():
    assert on_air(radio("band 802.11ac"), version="6.0.9") == on_air(radio("vap-all enable")) == ["Home", "Away"]
    assert on_air(radio("vap-all disable"), version="6.2.3") == []


def test_a_profile_counts_where_an_access_point_is_let_in_and_uses_it():
    every = radio("vap-all manual", 'vaps "both"')
    assert on_air(every, admin="disable") == on_air(every, admin="discovered") == []
    assert on_air(radio("vap-all manual", 'vaps "both"', profile="other")) == ["Home"]  # "hall" is as it comes


def test_bands_are_those_of_the_radios_that_air_a_name():
    low, high = (
        radio("band 802.11n-2G 802.11ax-2G", 'vaps "home"', "vap-all manual"),
        radio("band 802.11ac", 'vaps "both"', "vap-all manual", number=2),
    )
    assert {name: found["bands"] for name, found in names(low, high).items() if found["enabled"]} == {
        "Home": ["2.4", "5"],
        "Away": ["5"],
    }
    assert names(radio("vap-all tunnel"))["Home"]["bands"] is None


def test_what_comes_by_a_tunnel_is_a_network_of_its_own():
    found = names(radio("vap-all enable"))
    assert (found["Home"]["vlan"], found["Away"]["vlan"]) == ("bridge home", 7)
