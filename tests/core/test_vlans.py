"""VLAN ids and VLAN sets: IEEE 802.1Q bounds, list notation, the operations of an allowed list."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from netutils.vlan import vlanconfig_to_list, vlanlist_to_config
from pydantic import BaseModel, ValidationError

from auditor.core.values import ALL_VLANS, NO_VLANS, VlanSet, allowed_vlans, vlan_id

VIDS = st.integers(1, 4094)
SETS = st.sets(VIDS, max_size=60)
EVERY = set(range(1, 4095))
"""IEEE 802.1Q: a VLAN id has 12 bits; 0 means priority-tagged only and 0xFFF is reserved."""


@pytest.mark.parametrize("vid", [1, 2, 1002, 4093, 4094, "1", "4094", " 7 "])
def test_a_vlan_id_is_1_to_4094(vid):
    assert vlan_id(vid) == int(vid)


@pytest.mark.parametrize("vid", [0, 4095, 4096, -1, 65535, "0", "4095", "", "x", "10.0", "0x10", "1e3"])
def test_0_and_4095_and_what_is_no_number_name_no_vlan(vid):
    with pytest.raises(ValueError, match="is not a VLAN id"):
        vlan_id(vid)


@pytest.mark.parametrize("vid", ["1_0", "+5", "٣"])
def test_a_vlan_id_is_written_in_plain_digits(vid):
    """IEEE 802.1Q and every dialect write it in decimal digits; what only a programming language reads is no id."""
    with pytest.raises(ValueError, match="is not a VLAN id"):
        vlan_id(vid)


@pytest.mark.parametrize(
    ("text", "vids"),
    [
        ("", set()),
        ("  ", set()),
        ("10", {10}),
        ("10,20-22", {10, 20, 21, 22}),
        ("20-22,10", {10, 20, 21, 22}),
        ("1,2 , 3", {1, 2, 3}),
        ("10,,20", {10, 20}),
        ("7-7", {7}),
        ("5-8,6-10", {5, 6, 7, 8, 9, 10}),
        ("1-4094", EVERY),
    ],
)
def test_list_notation_is_read(text, vids):
    assert VlanSet.parse(text) == vids


@pytest.mark.parametrize("text", ["22-20", "0-5", "4090-4095", "10-", "-10", "10-20-30", "10;20", "all", "4095", "1.2"])
def test_what_is_no_vlan_list_is_refused(text):
    with pytest.raises(ValueError, match=r"is not a VLAN"):
        VlanSet.parse(text)


@given(SETS)
def test_a_set_survives_its_notation(vids):
    assert VlanSet.parse(str(VlanSet(vids))) == vids


@given(SETS)
def test_the_notation_is_the_shortest_and_ascending(vids):
    text = str(VlanSet(vids))
    numbers = [int(part) for piece in text.split(",") if piece for part in piece.split("-")]
    assert numbers == sorted(set(numbers))
    assert text.count(",") + 1 == len([vid for vid in vids if vid - 1 not in vids]) or not vids


@given(SETS.filter(bool))
def test_the_notation_is_that_of_a_reference_library(vids):
    """netutils.vlan writes an IOS allowed list; with groups from two on its notation is ours."""
    assert [str(VlanSet(vids))] == vlanlist_to_config(sorted(vids), first_line_len=100_000, min_grouping_size=2)


@given(SETS.filter(bool), st.integers(1, 5), st.integers(12, 60))
def test_what_a_reference_library_writes_over_several_lines_is_read(vids, grouping, length):
    """netutils.vlan cuts a list into ``allowed vlan`` and ``allowed vlan add`` lines."""
    first, *rest = vlanlist_to_config(sorted(vids), length, length, grouping)
    assert allowed_vlans([first, *(f"add {line}" for line in rest)]) == vids


@given(st.lists(st.tuples(VIDS, VIDS).map(sorted), min_size=1, max_size=8))
def test_ranges_are_expanded_as_a_reference_library_does(ranges):
    text = ",".join(f"{low}-{high}" for low, high in ranges if low != high) or "5"
    assert sorted(VlanSet.parse(text)) == sorted(set(vlanconfig_to_list(text)))


def brute(operations):
    """Carry out an allowed list's operations on a plain set."""
    allowed = set(EVERY)
    for word, vids in operations:
        match word:
            case "add":
                allowed |= vids
            case "remove":
                allowed -= vids
            case "except":
                allowed = EVERY - vids
            case "all":
                allowed = set(EVERY)
            case "none":
                allowed = set()
            case _:
                allowed = set(vids)
    return allowed


@given(
    st.lists(st.tuples(st.sampled_from(["", "add", "remove", "except", "all", "none"]), SETS.filter(bool)), max_size=6)
)
def test_an_allowed_list_is_what_its_lines_make_of_it_in_their_order(operations):
    """Common practice, no source: a plain list replaces, the other words change what stands already."""
    lines = [word if word in ("all", "none") else f"{word} {VlanSet(vids)}".strip() for word, vids in operations]
    assert allowed_vlans(lines) == brute(operations)


def test_a_port_allows_all_until_told_otherwise():
    assert sorted(allowed_vlans([])) == sorted(ALL_VLANS) == sorted(EVERY)
    assert len(allowed_vlans(["none"])) == len(NO_VLANS) == 0


@given(SETS, st.lists(st.one_of(st.none(), VIDS), max_size=4))
def test_but_takes_ids_out(vids, others):
    assert VlanSet(vids).but(*others) == vids - set(others)


class _Holder(BaseModel):
    vlans: VlanSet


@pytest.mark.parametrize("value", ["10,20-22", {10, 20, 21, 22}, [22, 21, 20, 10], VlanSet([10, 20, 21, 22])])
def test_a_model_takes_any_spelling_and_writes_list_notation(value):
    holder = _Holder(vlans=value)
    assert holder.model_dump(mode="json") == {"vlans": "10,20-22"}
    assert repr(holder.vlans) == "VlanSet('10,20-22')"


@pytest.mark.parametrize("value", ["4095", [0], {4095}, ["x"]])
def test_a_model_refuses_what_is_no_vlan(value):
    with pytest.raises(ValidationError):
        _Holder(vlans=value)
