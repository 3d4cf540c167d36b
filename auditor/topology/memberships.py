"""Ports that are put into VLANs one by one, tagged or untagged, and have a VLAN of their own for untagged frames."""

from __future__ import annotations

from typing import NamedTuple

from auditor.core.values import VlanSet, vlan_id
from auditor.reading.fields import REMOVED, UNTAGGED
from auditor.topology.interfaces import Interface


class Joined(NamedTuple):
    """The VLANs of such a port; ``beyond`` leave it untagged though untagged frames enter another."""

    untagged: int | None
    tagged: VlanSet
    beyond: VlanSet


def joined(interface: Interface, port_vlan: str) -> Joined:
    """Carry out a port's lines in their order; it begins in the VLAN of untouched ports.

    A trunk sends the VLAN that untagged frames enter untagged and all others tagged, whatever the lines say.
    """
    start = vlan_id(port_vlan)
    tagged: set[int] = set()
    untagged = {start}
    for how, vids in interface.memberships:
        tagged -= vids
        untagged -= vids
        if how != REMOVED:
            (untagged if how == UNTAGGED else tagged).update(vids)
    off = interface.off_vlans
    tagged -= off
    untagged -= off
    pvid = int(interface.pvid or start)
    if interface.mode == "trunk":
        every = tagged | untagged
        untagged = {pvid} & every
        tagged = every - untagged
    enters = pvid if pvid in untagged and interface.admits != "tagged" else None
    beyond = untagged - {enters}
    if interface.admits == "untagged":
        tagged = set()  # tagged frames leave it, and none is let in
    return Joined(enters, VlanSet(tagged | beyond), VlanSet(beyond))
