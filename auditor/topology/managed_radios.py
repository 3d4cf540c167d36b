"""Radios of access points that are managed from here: which of them are there, and which Wi-Fi names they air."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from auditor.platforms.definition import Default
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.wifi import RadioRow, WifiGroupRow, WifiRow
from auditor.reading.source import Ref
from auditor.topology.evidence import apply_defaults

MESH = "mesh"
"""The mode of a name that links access points and is for no clients."""


def radios_there(read_rows: ReadRows, defaults: list[Default], wifi_defaults: list[Default]) -> list[RadioRow]:
    """Return the radios that are there, each with the names of what it airs.

    Those of a profile are there where an access point that is on uses it. A profile of which no radio is said, or that
    is said nowhere, has one that airs what radios air that say nothing.
    """
    points = [point for point in read_rows.access_point if not point.inactive and not point.disabled]
    used = {point.profile: point for point in points if point.profile}
    found = [radio for radio in read_rows.radio if not radio.profile or (radio.profile in used and not radio.disabled)]
    said = {radio.profile for radio in read_rows.radio}
    found += [RadioRow({"name": name, "profile": name}, used[name].head) for name in used if name not in said]
    for radio in found:
        apply_defaults(defaults, radio)
    groups = {group.name: group.ssids for group in read_rows.wifi_group if not group.inactive}
    names = [row for row in read_rows.wifi if not row.inactive]
    for radio in found:
        if radio.profile:
            radio.ssids = tuple(_aired(radio, names, groups, wifi_defaults))
    return found


def _aired(
    radio: RadioRow, rows: list[WifiRow], groups: Mapping[str, tuple[str, ...]], defaults: list[Default]
) -> Iterator[str]:
    """Yield what the Wi-Fi names are called that a radio airs."""
    listed = set(_expanded(radio.ssids, groups))
    for row in rows:
        airs = radio.airs or "listed"
        if airs == "listed":
            wanted = row.name in listed
        else:
            whole = WifiRow(dict(row.said), row.head)
            apply_defaults(defaults, whole)
            wanted = row.mode != MESH and airs in ("all", "local" if whole.local else "central")
        if wanted:
            yield row.name


def names_of_nothing(read_rows: ReadRows) -> Iterator[Ref]:
    """Yield the lines by which a profile's radio, or a group, lists a Wi-Fi name that is said nowhere."""
    known = {name for row in read_rows.wifi for name in (row.name, row.ssid)}
    groups = {group.name for group in read_rows.wifi_group}
    listing: list[RadioRow | WifiGroupRow] = [*read_rows.wifi_group, *(r for r in read_rows.radio if r.profile)]
    for row in listing:
        there = known | groups if isinstance(row, RadioRow) else known
        yield from (ref for name, ref in zip(row.ssids, row.refs("ssids"), strict=False) if name not in there)


def _expanded(names: Iterable[str], groups: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    for name in names:
        yield from groups.get(name, (name,))
