"""Rows: what they say and leave unsaid, where they say it, and that the names of their fields are known to mypy."""

from __future__ import annotations

from typing import get_args

import pytest

from auditor.errors import PlatformError
from auditor.platforms.catalogue import get
from auditor.platforms.definition import Default
from auditor.reading.dialect import Dialect
from auditor.reading.row_models import FEATURES
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import LAYER3, Row
from auditor.reading.row_models.switching import InterfaceRow, VlanRow
from auditor.reading.source import Ref
from auditor.topology.evidence import apply_defaults
from auditor.topology.interfaces import Interface

HEAD = Ref(0, 7)
MODELS: list[type[Row]] = [*dict.fromkeys(FEATURES.values()), Interface]


def row(**said: object) -> InterfaceRow:
    return InterfaceRow(dict(said), HEAD, {"mode": (1,), "members": (0, 2)}, (8, 9, 10))


def test_the_names_of_fields_are_those_that_rows_have():
    assert set(get_args(FieldName)) == {name for model in MODELS for name in model.types()}


@pytest.mark.parametrize("model", MODELS)
def test_what_a_row_leaves_unsaid_can_be_changed_for_no_other_row(model: type[Row]):
    for name in model.types():
        hash(getattr(model, name))


def test_a_row_has_no_field_of_another_feature():
    with pytest.raises(ValueError, match="VlanRow has no field access_vlan"):
        VlanRow.fields("name", "access_vlan")
    assert VlanRow.fields("name", "index") == {"name", "index"}


def test_unsaid_is_not_the_same_as_said_to_be_nothing():
    silent, empty = row(), row(description="", disabled=False)
    assert (silent.description, silent.disabled, silent.members) == ("", False, ())
    assert empty.description == ""
    assert empty.says("description")
    assert not silent.says("description")
    assert row(addresses=()).says_any(LAYER3)
    assert not row(mode="access").says_any(LAYER3)


def test_a_row_knows_the_lines_of_what_it_says():
    found = row(name="a", mode="trunk", members=("x", "y"))
    assert found.at("name") == (HEAD,)
    assert found.at("mode") == (Ref(0, 9),)
    assert found.at("members", "mode") == (Ref(0, 8), Ref(0, 10), Ref(0, 9))
    assert found.at("alias") == (HEAD,)
    assert found.refs("alias") == ()


def test_a_row_under_another_name_is_another_row():
    first = row(name="a", kind="range", mode="trunk")
    second = first.as_of("b", "kind")
    assert second.said == {"name": "b", "mode": "trunk"}
    assert first.said == {"name": "a", "kind": "range", "mode": "trunk"}
    assert second.at("mode") == (Ref(0, 9),)


def test_rows_of_an_interface_add_up_lists_grow_and_single_values_are_replaced():
    interface = Interface("port 1", "port", Ref(0, 1))
    interface.take(row(name="p1", kind="bundle", mode="access", members=("x", "y")))
    interface.take(InterfaceRow({"mode": "trunk", "members": ("z",)}, Ref(0, 20)))
    assert (interface.name, interface.kind) == ("port 1", "port")
    assert (interface.mode, interface.members) == ("trunk", ("x", "y", "z"))
    assert interface.at("mode") == (Ref(0, 20),)
    assert list(zip(interface.members, interface.refs_of_each("members"), strict=True)) == [
        ("x", Ref(0, 8)),
        ("y", Ref(0, 10)),
        ("z", Ref(0, 20)),
    ]


def test_an_interface_takes_some_fields_of_a_row_alone():
    interface = Interface("vlan 7", "vlan", HEAD)
    interface.take(VlanRow({"name": "shop", "addresses": ("192.0.2.1/24",), "voice": True}, HEAD), only=LAYER3)
    assert interface.said == {"name": "vlan 7", "kind": "vlan", "addresses": ("192.0.2.1/24",)}


def test_what_an_absent_line_means_fills_only_what_is_unsaid():
    defaults = [Default(where={"kind": "port", "mode": None}, values={"mode": "access"})]
    silent, told, other = Interface("a", "port", HEAD), Interface("b", "port", HEAD), Interface("c", "vlan", HEAD)
    told.mode = "trunk"
    for interface in (silent, told, other):
        apply_defaults(defaults, interface)
    assert (silent.mode, told.mode, other.mode) == ("access", "trunk", "")
    assert not other.says("mode")


@pytest.mark.parametrize(
    ("feature", "fields", "problem"),
    [
        ("vlan", {"name": "x"}, "absent lines mean nothing in vlan"),
        ("interface", {"mdoe": "access"}, "mdoe is no field of interface"),
        ("interface", {"mode": 1}, "1 is no interface.mode"),
        ("interface", {"access_vlan": 1}, "1 is no interface.access_vlan"),
        ("dhcp_scope", {"limit": -1}, "-1 is no dhcp_scope.limit"),
    ],
)
def test_what_an_absent_line_means_is_of_the_types_of_rows(feature: str, fields: dict[str, object], problem: str):
    default = Default(values=fields)
    with pytest.raises(PlatformError, match=problem):
        Dialect(get("cisco_ios").model_copy(update={"defaults": {feature: [default]}}))
