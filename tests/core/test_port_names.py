"""Port shorthand: ranges and lists of names as people write them on plans."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from netutils.interface import interface_range_expansion

from auditor.core.port_names import expand_names, shorten_names


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("lan1", ["lan1"]),
        (" lan1 ", ["lan1"]),
        ("GigabitEthernet1/0/1-3", ["GigabitEthernet1/0/1", "GigabitEthernet1/0/2", "GigabitEthernet1/0/3"]),
        ("Gi1/0/1 - 2", ["Gi1/0/1", "Gi1/0/2"]),
        ("Gi1/0/1-Gi1/0/2", ["Gi1/0/1", "Gi1/0/2"]),
        ("Gi1/0/9-11", ["Gi1/0/9", "Gi1/0/10", "Gi1/0/11"]),
        ("ether2,ether5-7", ["ether2", "ether5", "ether6", "ether7"]),
        ("1/0/1,3", ["1/0/1", "1/0/3"]),
        ("1/0/1,3-4", ["1/0/1", "1/0/3", "1/0/4"]),
        ("1/1/1-1/1/2,1/1/7", ["1/1/1", "1/1/2", "1/1/7"]),
        ("23-24", ["23", "24"]),
        ("1,3,5-6", ["1", "3", "5", "6"]),
        ("A1-A4", ["A1", "A2", "A3", "A4"]),
        ("Trk1-Trk2,A1", ["Trk1", "Trk2", "A1"]),
        ("ge-0/0/1-2", ["ge-0/0/1", "ge-0/0/2"]),
        ("ge-0/0/1-ge-0/0/2", ["ge-0/0/1", "ge-0/0/2"]),
        ("ge-0/0/1,xe-0/1/0", ["ge-0/0/1", "xe-0/1/0"]),
        ("sfp-sfpplus1", ["sfp-sfpplus1"]),
        ("sfp-sfpplus1-2", ["sfp-sfpplus1", "sfp-sfpplus2"]),
        ("ether1-WAN", ["ether1-WAN"]),
        ("ether1-gateway2", ["ether1-gateway2"]),
        ("qsfp28-1-1", ["qsfp28-1-1"]),
        ("eth0.10-12", ["eth0.10", "eth0.11", "eth0.12"]),
        ("Te1/1/1-2,Gi1/0/1", ["Te1/1/1", "Te1/1/2", "Gi1/0/1"]),
        ("wan", ["wan"]),
        ("bonding1", ["bonding1"]),
        ("Port-channel1-2", ["Port-channel1", "Port-channel2"]),
    ],
)
def test_shorthand_is_expanded(text, names):
    assert expand_names(text) == names


@pytest.mark.parametrize("text", ["", ",", "lan1,", ",lan1", "lan1,,lan2", " , "])
def test_a_comma_needs_a_port_on_both_sides(text):
    with pytest.raises(ValueError, match="empty entry between commas"):
        expand_names(text)


@pytest.mark.parametrize("text", ["Gi1/0/12-1", "lan5-lan2", "24-23"])
def test_a_range_does_not_run_backwards(text):
    with pytest.raises(ValueError, match="runs backwards"):
        expand_names(text)


@pytest.mark.parametrize("text", ["lan1-100000", "1-4097", "Gi1/0/1-" + "9" * 40])
def test_a_range_is_no_longer_than_a_device_has_ports(text):
    with pytest.raises(ValueError, match="longer than any device"):
        expand_names(text)


@pytest.mark.parametrize("text", ["Gi1/0/1-2/0/5", "Gi1/0/1-gi1/0/12", "ge-0/0/1-xe-0/0/4"])
def test_a_range_over_different_ports_is_no_name_of_one_port(text):
    """The two ends differ before their last number: a range or a slip, but never the name of one odd port."""
    try:
        names = expand_names(text)
    except ValueError:
        return
    assert names != [text]


@given(st.sampled_from(["Gi1/0/", "Ethernet1/", "ge-0/0/", "1/1/"]), st.integers(1, 40), st.integers(0, 30))
def test_ranges_are_expanded_as_a_reference_library_does(stem, first, more):
    """netutils.interface writes ranges in brackets."""
    reference = interface_range_expansion(f"{stem}[{first}-{first + more}]")
    assert expand_names(f"{stem}{first}-{first + more}") == reference


@given(
    st.lists(st.tuples(st.sampled_from(["lan", "Gi1/0/", "ge-0/0/", "sfp-sfpplus"]), st.integers(1, 99)), min_size=1)
)
def test_a_list_of_whole_names_is_left_as_it_is(parts):
    names = [f"{stem}{number}" for stem, number in parts]
    assert expand_names(",".join(names)) == names


@given(st.text(max_size=40))
def test_any_text_is_names_or_a_value_error(text):
    try:
        names = expand_names(text)
    except ValueError:
        return
    assert names
    assert all(names)


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ([], ""),
        (["lan1"], "lan1"),
        (["wan", "lan1", "lan2"], "wan, lan1-2"),
        ([f"GigabitEthernet1/0/{port}" for port in (1, 2, 3, 12)], "GigabitEthernet1/0/1-3, GigabitEthernet1/0/12"),
        (["1/0/1", "1/0/2", "2/0/3"], "1/0/1-2, 2/0/3"),
        (["ether3", "ether2"], "ether3, ether2"),
        (["port08", "port09"], "port08, port09"),
        (["ge-0/0/1", "ge-0/0/2"], "ge-0/0/1-2"),
        (["A1", "B2"], "A1, B2"),
    ],
)
def test_runs_are_written_as_ranges(names: list[str], text: str):
    assert shorten_names(names) == text


@given(st.lists(st.from_regex(r"[A-Za-z]{1,12}([0-9]{1,2}/){0,2}[0-9]{1,3}", fullmatch=True), min_size=1, max_size=60))
def test_what_is_shortened_expands_to_the_same_names(names: list[str]):
    assert expand_names(shorten_names(names)) == names
