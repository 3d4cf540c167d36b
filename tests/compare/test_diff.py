"""The one door to DeepDiff: what it says of two sets of items is what a plain comparison field by field says."""

from __future__ import annotations

import copy

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from auditor.compare.diff import Difference, changes

NASTY_KEYS = [
    "", "a", "1", "-1", "1.5", "None", "True", "__class__", "__", "_x", "a.b.c", "10.40.10.0/24", "a'b", 'a"b',
    "a'\"b", "[0]", "root['a']", "root", "a[0].b", "GigabitEthernet1/0/24", "sfp-sfpplus1", "Quarry Guest", "é☕",
    "a\\b", "a\nb", "\t", "{}", "%s", "*", "a|b",
]  # fmt: skip
NASTY_FIELDS = [key for key in NASTY_KEYS if key]
"""An item's field has a name: the empty one stands for the whole item."""


def naive(expected, observed):
    """Compare item by item and field by field, with nothing but ``==``."""
    found = {}
    for key in expected.keys() | observed.keys():
        if key not in expected or key not in observed:
            found[key, ""] = (expected.get(key), observed.get(key))
            continue
        wanted, seen = expected[key], observed[key]
        for field in wanted.keys() | seen.keys():
            if field not in wanted or field not in seen or wanted[field] != seen[field]:
                found[key, field] = (wanted.get(field), seen.get(field))
    return found


def by_place(found):
    places = {(change.key, change.field): (change.expected, change.observed) for change in found}
    assert len(places) == len(found), "a place is told twice"
    return places


LEAVES = st.one_of(st.none(), st.booleans(), st.sampled_from(["", "x", "1", "10,20-22", "None"]), st.integers(2, 4))
"""0 and 1 are left out: Python says that they equal False and True, and a setting is never both."""
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["42", "__x", "a'b", "[0]"]), inner, max_size=2)
    ),
    max_leaves=5,
)
ITEMS = st.dictionaries(
    st.sampled_from(NASTY_KEYS), st.dictionaries(st.sampled_from(NASTY_FIELDS[:6]), VALUES, max_size=3), max_size=5
)


@given(ITEMS, ITEMS)
@example({"a": {"x": None}}, {"a": {}})
@example({"a": {}}, {})
@example({"a": {"x": [1]}}, {"a": {"x": {}}})
def test_changes_are_those_of_a_naive_comparison(expected, observed):
    before = copy.deepcopy((expected, observed))
    assert by_place(changes(expected, observed)) == naive(expected, observed)
    assert (expected, observed) == before, "what is compared must not be changed by it"


@given(ITEMS, st.data())
def test_one_changed_field_is_one_change(items, data):
    places = [(key, field) for key, item in items.items() for field in item]
    if not places:
        return
    key, field = data.draw(st.sampled_from(places))
    observed = copy.deepcopy(items)
    observed[key][field] = "something else"
    assert changes(items, observed) == [Difference(key, field, items[key][field], "something else")]


@given(ITEMS)
def test_equal_items_have_no_changes_whatever_their_order(items):
    turned = {key: dict(reversed(item.items())) for key, item in reversed(items.items())}
    assert changes(items, turned) == []


@given(ITEMS, ITEMS)
def test_the_other_way_round_the_sides_are_swapped(expected, observed):
    swapped = {place: (b, a) for place, (a, b) in by_place(changes(expected, observed)).items()}
    assert by_place(changes(observed, expected)) == swapped


@pytest.mark.parametrize("key", NASTY_KEYS)
@pytest.mark.parametrize("field", ["vlan", "__private", "a'b", "[0]", "1"])
def test_any_key_is_a_key(key, field):
    one, other = {key: {field: 10, "rest": 1}}, {key: {field: 20, "rest": 1}}
    assert changes(one, other) == [Difference(key, field, 10, 20)]
    assert changes(one, {}) == [Difference(key, "", one[key], None)]
    assert changes({}, other) == [Difference(key, "", None, other[key])]


@pytest.mark.parametrize(
    ("expected", "observed"),
    [
        (None, ""), (None, []), (None, {}), ("", []), ([], {}), (None, 0), (None, False), (0, ""), ("1", 1), ("10", 10),
        ([1, 2], [2, 1]), ([1, 2], [1, 2, 2]), ({"42": "x"}, {"43": "x"}), ({"42": "x"}, {"42": "y"}), ([], [None]),
        ("10,20", "10,20,30"), (["a"], "a"), ({"__x": 1}, {"__x": 2}), ("x" * 5000, "x" * 4999 + "y"), ("é", "e\u0301"),
    ],
)  # fmt: skip
def test_values_that_look_alike_differ(expected, observed):
    assert changes({"a": {"x": expected}}, {"a": {"x": observed}}) == [Difference("a", "x", expected, observed)]


def test_changes_come_in_the_order_of_the_plan_whatever_the_capture_has():
    expected = {"b": {"y": 1, "x": 1}, "a": {"x": 1}, "c": {"x": 1}}
    one = {"z": {}, "a": {"x": 2}, "b": {"x": 2, "y": 2}}
    other = dict(reversed(one.items()))
    places = [(change.key, change.field) for change in changes(expected, one)]
    assert [place for place in places if place[0] != "z"] == [("b", "x"), ("b", "y"), ("a", "x"), ("c", "")]
    assert [(change.key, change.field) for change in changes(expected, other)] == places


def test_many_items_of_which_few_differ():
    expected = {f"port{n}": {"vlan": n, "tagged": "10,20"} for n in range(2000)}
    observed = copy.deepcopy(expected)
    observed["port7"]["vlan"] = 8
    del observed["port1999"]
    assert changes(expected, observed) == [
        Difference("port7", "vlan", 7, 8),
        Difference("port1999", "", {"vlan": 1999, "tagged": "10,20"}, None),
    ]
