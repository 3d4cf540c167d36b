"""Tables of VLANs and the interfaces beside them: switch chips know ports by numbers, and one is the device itself."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from auditor.platforms.bridging import Bridging
from auditor.reading.row_models.switching import VlanRow
from auditor.topology.interfaces import Interface, Interfaces


class Ways(NamedTuple):
    """How VLAN interfaces on ports come to the tables of VLANs beside them.

    Those beside a switch chip reach what their own port of the chip has; on other ports there is no table.

    Attributes:
        lost: those whose tag a table has, and that do not reach it there.
        dead_ends: these, and those that reach no port of the chip but their own.
        open: rows that are taken up by a device, though no port of the chip is in all that it takes up: one is missing.
    """

    lost: set[str]
    dead_ends: set[str]
    open: list[VlanRow]


def ways_of(rows: Iterable[VlanRow], interfaces: Interfaces, model: Bridging, bridges: Collection[str]) -> Ways:
    """Return how the VLAN interfaces on ports come to the tables of VLANs beside them."""
    lost: set[str] = set()
    dead_ends: set[str] = set()
    left: list[VlanRow] = []
    if not model.last_entry:
        return Ways(lost, dead_ends, left)
    on_ports = {
        name: [child for child in found if child.enabled]
        for name, found in interfaces.children.items()
        if name not in bridges and name not in interfaces.bridge_of
    }
    of_chips, in_bridges = apart(rows)
    taken_up = {name: _tags(found) for name, found in on_ports.items() if found}
    own = _device_ports(of_chips, taken_up)
    taken = {number for _, number in own.values()}
    there = {vid for row in of_chips for vid in row.vids}
    alone = {vid for row in of_chips if len({*row.tagged_ports, *row.untagged_ports}) < 2 for vid in row.vids}
    for name, found in on_ports.items():
        if name in own:
            chip, number = own[name]
            mine = (row for row in of_chips if row.bridge == chip and number in row.tagged_ports)
            reached = {vid for row in mine for vid in row.vids}
            lost |= {child.name for child in found if int(child.vlan_tag) not in reached}
            dead_ends |= {child.name for child in found if int(child.vlan_tag) in alone}
        elif not of_chips:
            lost |= {child.name for child in found if int(child.vlan_tag) in in_bridges}
        elif wanted := _tags(found) & there:
            listing = [row for row in of_chips if not wanted.isdisjoint(row.vids)]
            several = sum(not there.isdisjoint(tags) for tags in taken_up.values()) > 1
            if several or not set.intersection(*(set(row.tagged_ports) for row in listing)) - taken:
                left += listing
    return Ways(lost, dead_ends | lost, left)


def _tags(found: Iterable[Interface]) -> set[int]:
    return {int(child.vlan_tag) for child in found}


def apart(rows: Iterable[VlanRow]) -> tuple[list[VlanRow], set[int]]:
    """Return the rows of chips, which know ports by numbers, and the VLANs of all other tables."""
    rows = list(rows)
    chips = {row.bridge for row in rows if any(port.isdecimal() for port in (*row.tagged_ports, *row.untagged_ports))}
    return [row for row in rows if row.bridge in chips], {
        v for row in rows if row.bridge not in chips for v in row.vids
    }


def _device_ports(rows: Sequence[VlanRow], taken_up: Mapping[str, set[int]]) -> dict[str, tuple[str, str]]:
    """Return for each device beside a chip the chip, and the number of its port that this device is.

    No line tells it. It is the port that is tagged in most of the VLANs that are taken up there; where several are in
    as many of them, one that is in none that are taken up elsewhere. Where that leaves several, nothing is assumed.
    One that sends a VLAN untagged that another device takes up is a port like others.
    ``taken_up``: by device, the tags of the interfaces that are laid on it.
    """
    tagged: dict[tuple[str, str], set[int]] = {}
    for row in rows:
        for port in row.tagged_ports:
            tagged.setdefault((row.bridge, port), set()).update(row.vids)
    untagged: dict[tuple[str, str], set[int]] = {}
    for row in rows:
        for port in row.untagged_ports:
            untagged.setdefault((row.bridge, port), set()).update(row.vids)
    found: dict[str, tuple[str, str]] = {}
    for device in sorted(taken_up, key=lambda name: (-len(taken_up[name]), name)):
        mine = taken_up[device]
        elsewhere = set().union(*(tags for other, tags in taken_up.items() if other != device)) - mine
        outside = {*found.values(), *(port for port, vids in untagged.items() if vids & elsewhere)}
        counts = {port: len(vids & mine) for port, vids in tagged.items() if vids & mine and port not in outside}
        best = [port for port, count in counts.items() if count == max(counts.values())]
        alone = [port for port in best if tagged[port].isdisjoint(elsewhere)]
        if len(best) == 1 or len(alone) == 1:
            found[device] = (best if len(best) == 1 else alone)[0]
    return found
