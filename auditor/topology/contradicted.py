"""Lines that contradict others: listings that a device prints when it is asked, and what it leaves out."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.core.state import Setting
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.layer2 import UNNUMBERED

_SAVE = "the two were not saved at the same time, or the device does otherwise: save both again"
_LEFT = "a port is in this VLAN until a line takes it out, and none says so of this one; check its untagged VLAN"
_NOT_PRINTED = (
    "as it is set up, the device takes VLANs from others, and its configuration does not show them: "
    "save the list of its VLANs beside it"
)
_ON_VLANS = (Setting("vlans"),)
_ON_MODE = (Setting("ports", "", "mode"),)
_ON_UNTAGGED = (Setting("ports", "", "untagged"),)


def contradicted(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines of a configuration, or of a listing beside it, that the other contradicts."""
    yield from _vlans(topology)
    yield from _not_printed(topology)
    yield from _modes(topology)
    yield from _access_ports(topology)
    yield from _left_in_the_first(topology)


def _left_in_the_first(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the VLAN that all ports begin in, where it says of some neither that they are in it nor that they left."""
    layer2 = topology.layer2
    first = layer2.declared.get(UNNUMBERED) if layer2.model.begins_untagged else None
    ports = layer2.unsaid_in(UNNUMBERED) if first else []
    if first and ports:
        yield first.row.head, Bearing(_LEFT, (*_ON_MODE, *_ON_UNTAGGED), key=",".join(ports), contradicts=True)


def _vlans(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the VLANs, or their names, that only one of the two has, where each shows what there is."""
    table = topology.platform.vlans
    listed = {vid: row for row in topology.rows.vlan if row.listed for vid in row.vids}
    declared = {vid: row for row in topology.rows.vlan if not row.listed for vid in row.vids if not row.inactive}
    if not listed or not table.shown_by & declared.keys():
        return
    for vid, row in declared.items():
        other = listed.get(vid)
        if other is None:
            yield row.head, _of_vlan(vid, "a listing beside it does not have this VLAN")
        elif row.name and other.name and row.name != other.name:
            yield row.at("name")[0], _of_vlan(vid, "a listing beside it has another name")
    for vid, row in listed.items():
        if vid not in declared and vid not in table.built_in:
            yield row.at("vlan_ids")[0], _of_vlan(vid, "the configuration beside it does not have this VLAN")


def _not_printed(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the VLANs of a configuration that, as it says itself, does not print them."""
    system, table = topology.system, topology.platform.vlans
    if not system.says("vlans_shown") or system.vlans_shown or any(row.listed for row in topology.rows.vlan):
        return
    for row in topology.rows.vlan:
        for vid in table.shown_by & set(row.vids) if not row.inactive else ():
            yield row.head, Bearing(_NOT_PRINTED, _ON_VLANS, key=str(vid))


def _of_vlan(vid: int, what: str) -> Bearing:
    return Bearing(f"{what}; {_SAVE}", _ON_VLANS, key=str(vid), contradicts=True)


def _modes(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    for interface in topology.interfaces.devices.values():
        if interface.listed_mode and interface.mode != interface.listed_mode:
            why = f"the configuration beside it says otherwise; {_SAVE}"
            yield interface.at("listed_mode")[0], Bearing(why, _ON_MODE, key=interface.name, contradicts=True)


def _access_ports(topology: Topology) -> Iterator[tuple[Ref, Bearing]]:
    """Yield access ports that are listed in other VLANs than their own."""
    book, devices = topology.dialect.names, topology.interfaces.devices
    voice = {interface.voice_vlan for interface in devices.values()}
    found: dict[str, dict[int, Ref]] = {}
    for row in topology.rows.vlan:
        for vid in row.vids if row.listed_on else ():
            for name in row.listed_on:
                found.setdefault(book.canonical(name), {})[vid] = row.at("listed_on")[0]
    for name, places in found.items():
        interface = devices.get(name)
        if interface is None or interface.mode != "access":
            continue
        own = int(interface.access_vlan or 1)
        others = [ref for vid, ref in places.items() if vid != own and str(vid) not in voice]
        if others or own not in places:
            why = f"the port is listed here, and not in the VLAN of its configuration; {_SAVE}"
            yield min(others or places.values()), Bearing(why, _ON_UNTAGGED, key=name, contradicts=True)
