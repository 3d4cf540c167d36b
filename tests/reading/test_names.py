"""Interface names: abbreviations, odd case, blanks and ranges all mean the one long name."""

from __future__ import annotations

import pytest
from netutils.interface import canonical_interface_name, interface_range_expansion

from auditor.platforms.names import names_of
from tests.reading.texts import IOS, ROUTEROS, ios, not_understood, state_of

BOOK = names_of(IOS)


@pytest.mark.parametrize(
    ("short", "long"),
    [
        ("Gi1/0/1", "GigabitEthernet1/0/1"),
        ("gi1/0/1", "GigabitEthernet1/0/1"),
        ("gig0/1", "GigabitEthernet0/1"),
        ("GigabitEthernet 1/0/1", "GigabitEthernet1/0/1"),
        ("GIgabitEthernet1/0/1", "GigabitEthernet1/0/1"),
        ("fa0/24", "FastEthernet0/24"),
        ("f0/24", "FastEthernet0/24"),
        ("te1/1/1", "TenGigabitEthernet1/1/1"),
        ("Po1", "Port-channel1"),
        ("port-channel 12", "Port-channel12"),
        ("vlan200", "Vlan200"),
        ("Vl10", "Vlan10"),
        ("lo0", "Loopback0"),
        ("se0/0/0", "Serial0/0/0"),
        ("Tu3", "Tunnel3"),
        ("gi0/0/1.10", "GigabitEthernet0/0/1.10"),
        ("twe1/0/1", "TwentyFiveGigE1/0/1"),
        ("hu1/0/1", "HundredGigE1/0/1"),
    ],
)
def test_a_short_name_is_the_long_one(short: str, long: str):
    assert BOOK.canonical(short) == long
    assert BOOK.canonical(long) == long


@pytest.mark.parametrize("short", ["Gi0/1", "Fa0/1", "Te1/1", "Po7", "Lo0", "Se0/0", "Tu1", "gi1/0/24", "Et0/1"])
def test_short_names_as_a_general_purpose_library_has_them(short: str):
    # netutils.interface.canonical_interface_name
    assert BOOK.canonical(short) == canonical_interface_name(short)


@pytest.mark.parametrize("name", ["uplink", "", "1/0/1", "-", "Gi", "Xx0/1", "wan"])
def test_what_is_no_such_name_stays_as_it_is(name: str):
    assert BOOK.canonical(name) == name


def test_a_dialect_without_long_names_keeps_every_letter():
    book = names_of(ROUTEROS)
    assert book.canonical(" ether1-carrier ") == "ether1-carrier"
    assert book.names("sfp-sfpplus1,x") == ["sfp-sfpplus1,x"]


@pytest.mark.parametrize(
    ("text", "expanded"),
    [
        ("f0/1-3", ["FastEthernet0/1", "FastEthernet0/2", "FastEthernet0/3"]),
        ("Gi1/0/1 - 2", ["GigabitEthernet1/0/1", "GigabitEthernet1/0/2"]),
        ("GigabitEthernet 1/0/1-2", ["GigabitEthernet1/0/1", "GigabitEthernet1/0/2"]),
        ("Gi1/0/1 , Gi2/0/5 - 6", ["GigabitEthernet1/0/1", "GigabitEthernet2/0/5", "GigabitEthernet2/0/6"]),
        ("Gi1/0/1-2,Fa0/3", ["GigabitEthernet1/0/1", "GigabitEthernet1/0/2", "FastEthernet0/3"]),
        ("vlan 10 - 11", ["Vlan10", "Vlan11"]),
        ("Port-channel1-2", ["Port-channel1", "Port-channel2"]),
        ("Gi1/0/1-Gi1/0/2", ["GigabitEthernet1/0/1", "GigabitEthernet1/0/2"]),
        ("Gi1/0/1,3,5-6", [f"GigabitEthernet1/0/{n}" for n in (1, 3, 5, 6)]),
    ],
)
def test_a_range_is_all_its_ports(text: str, expanded: list[str]):
    assert BOOK.names(text) == expanded


@pytest.mark.parametrize("name", ["Port-channel1", "Embedded-Service-Engine0/0", "Wlan-GigabitEthernet0/1"])
def test_a_hyphen_in_a_name_is_no_range(name: str):
    assert BOOK.names(name) == [name]


def test_a_range_as_a_general_purpose_library_expands_it():
    # netutils.interface.interface_range_expansion
    assert BOOK.names("FastEthernet0/1-24") == interface_range_expansion("FastEthernet0/[1-24]")


def test_the_last_line_about_a_port_wins_over_a_range():
    ports = state_of(
        ios(
            "int range f0/1-3\n switchport mode access\n switchport access vlan 10\n description all\n"
            "int f0/2\n switchport access vlan 20\n no shut\n"
            "interface range Fa0/1 , Fa0/3\n shutdown\n description outer\n"
            "interface FastEthernet0/3\n no shutdown"
        )
    )["ports"]
    told = {name: (port["untagged"], port["enabled"], port["description"]) for name, port in ports.items()}
    assert told == {
        "FastEthernet0/1": (10, False, "outer"),
        "FastEthernet0/2": (20, True, "all"),
        "FastEthernet0/3": (10, True, "outer"),
    }


@pytest.mark.parametrize("text", ["f0/24-1", "f0/1-99999", "Gi1/0/1,", ",Gi1/0/1", "Gi1/0/1,,Gi1/0/2", "Gi1/0/1-"])
def test_a_range_that_is_none_is_not_understood(text: str):
    reading = ios(f"interface range {text}\n switchport access vlan 7\ninterface GigabitEthernet9/9\n shutdown")
    assert not_understood(reading)
    assert state_of(reading)["ports"]["GigabitEthernet9/9"]["enabled"] is False
