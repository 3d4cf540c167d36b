"""The one door to DeepDiff: two sets of items in, plain changes out; its paths never leave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

Items = dict[str, dict[str, Any]]
"""Items by key, each with its fields as JSON values."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference: an item that only one side has (``field`` is empty), or a field that is unequal."""

    key: str
    field: str
    expected: Any
    observed: Any


def changes(expected: Items, observed: Items) -> list[Difference]:
    """Return what differs, by key and field in the order of the items.

    DeepDiff costs more than everything else together, so it only sees the items that are unequal.
    """
    wanted = {key: item for key, item in expected.items() if observed.get(key) != item}
    found = {key: item for key, item in observed.items() if expected.get(key) != item}
    if not wanted and not found:
        return []
    from deepdiff import DeepDiff  # noqa: PLC0415 - slow to import

    difference = DeepDiff(wanted, found, view="tree", ignore_private_variables=False, threshold_to_diff_deeper=0)
    places: dict[tuple[str, str], None] = {}
    for group in difference.values():
        for level in group:
            path = level.path(output_format="list")
            places[path[0], path[1] if len(path) > 1 else ""] = None
    order = {key: position for position, key in enumerate(dict.fromkeys([*expected, *observed]))}
    return [
        Difference(key, field, _value(expected, key, field), _value(observed, key, field))
        for key, field in sorted(places, key=lambda place: (order[place[0]], place[1]))
    ]


def _value(items: Items, key: str, field: str) -> Any:
    item = items.get(key)
    return item if item is None or not field else item.get(field)
