"""Every field of every area: it has an impact, a rule for what is unplanned, and a word in ``auditor platforms``."""

from __future__ import annotations

import re
import string
from typing import Any

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from auditor.areas import ROOMS, Area, Mismatch, Sighting, SiteNames, room
from auditor.core.report import CONSEQUENCES
from auditor.core.state import AREAS, JUDGED_AREAS, KEYED_AREAS, DeviceState, Management, Setting, as_plain, plain
from auditor.core.values import VlanSet
from tests.compare.site import conforming

CANDIDATES: tuple[Any, ...] = (
    True,
    False,
    10,
    40,
    VlanSet([10, 40]),
    VlanSet([20]),
    ("10.40.10.50-10.40.10.60",),
    ("10.40.10.50-10.40.10.55", "10.40.10.70-10.40.10.80"),
    "wpa2-personal",
    "open",
    {42: "text"},
    {"10.40.10.9": "00-00-5E-00-53-09"},
    None,
)
"""Values of every type that a field has; a field is tried with those that are of its type."""
WORDS = ("access", "trunk", "routed", "dynamic", "dhcp", "static")
"""Words of fields that have only certain ones."""
KEYS = {"vlans": "10", "gateways": "40", "dhcp": "10.40.10.0/24", "ports": "GigabitEthernet1/0/7", "uplinks": "ether1"}
KINDS: dict[str, type[BaseModel]] = {**KEYED_AREAS, "management": Management}


@pytest.fixture
def seen() -> Sighting:
    return Sighting("core1", SiteNames(conforming("quarry-road").plan))


def adapter_takes_text(adapter: TypeAdapter[Any]) -> bool:
    """Return whether any text will do."""
    try:
        return bool(adapter.validate_python("any text", strict=True) == "any text")
    except (ValidationError, TypeError):
        return False


def of_type(annotation: Any) -> list[Any]:
    """Return the candidates that are of a type as they stand."""
    adapter = TypeAdapter(annotation, config={"arbitrary_types_allowed": True})
    found = []
    for value in (*CANDIDATES, *(() if adapter_takes_text(adapter) else WORDS)):
        try:
            valid = adapter.validate_python(value, strict=True)
            if type(valid) is type(value) and valid == value:
                found.append(plain(value))
        except (ValidationError, TypeError):
            continue
    return found


def mismatches(area: str) -> list[Mismatch]:
    """Return a mismatch of each field of an area for each two values that it can have, and of whole items."""
    key, kind = KEYS.get(area, "Quarry Guest" if area == "ssids" else ""), KINDS[area]
    found = []
    for name, field in kind.model_fields.items():
        values = of_type(field.annotation)
        assert values, f"no value to try for {area}.{name}: add one of its type to CANDIDATES"
        planned = [one for one in values if one is not None and not isinstance(one, list)] or values
        pairs = [(one, other) for one in planned for other in values if one != other]
        found += [Mismatch(Setting(area, key, name), "differs", one, other) for one, other in pairs]
        found += [Mismatch(Setting(area, key, name), "unplanned", None, one) for one in values if one is not None]
    if area in KEYED_AREAS:
        item = as_plain(kind.model_construct(None, **({"method": "dhcp"} if area == "uplinks" else {})))
        found += [
            Mismatch(Setting(area, key), "absent", item, None),
            Mismatch(Setting(area, key), "unplanned", None, item),
        ]
    return found


def test_there_is_a_room_for_every_area():
    assert tuple(each.name for each in ROOMS) == JUDGED_AREAS
    assert {*AREAS} == {*DeviceState.model_fields}


@pytest.mark.parametrize("area", KINDS)
def test_every_field_has_an_impact(area: str, seen: Sighting):
    for mismatch in mismatches(area):
        impact = room(area).impact(mismatch, seen)
        told = room(area).text(impact)
        assert impact.consequence in CONSEQUENCES, mismatch
        assert impact.sentences, mismatch
        assert told, mismatch
        assert not re.search(r"[{}]", told), mismatch


@pytest.mark.parametrize("each", ROOMS, ids=lambda each: each.name)
def test_every_sentence_can_be_said(each: Area):
    """A name that no mismatch leads to would be a sentence that nobody ever reads."""
    if each.name == "isolation":
        assert not each.sentences
        return
    source = "".join(path.read_text(encoding="utf-8") for path in _files(each))
    for name, text in each.sentences.items():
        assert [part for part in string.Formatter().parse(text) if part[1]], f"{name} names nothing"
        said = name.removesuffix(" one")
        field = (each.name == "management" and name in Management.model_fields) or (
            each.name == "ports" and " " not in name
        )
        assert field or f'"{said}"' in source.replace(f'"{name}": "', "", 1), f"nothing says {name}"


def _files(each: Area) -> list[Any]:
    import inspect  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    path = Path(inspect.getfile(type(each)))
    return sorted(path.parent.glob("*.py")) if path.name == "__init__.py" else [path]


@pytest.mark.parametrize("area", KEYED_AREAS)
def test_every_area_of_items_says_what_is_unplanned(area: str):
    assert "unplanned" in type(room(area)).__dict__


@pytest.mark.parametrize("area", KINDS)
def test_every_field_has_a_word_in_the_list_of_platforms(area: str):
    assert {*room(area).told_by} == {*KINDS[area].model_fields}


@pytest.mark.parametrize("area", KINDS)
def test_fields_that_a_room_names_are_fields(area: str):
    each = room(area)
    named = {*(each.on_paths or ()), *each.judged_apart, *(name for group in each.together for name in group)}
    assert named <= {*KINDS[area].model_fields}
