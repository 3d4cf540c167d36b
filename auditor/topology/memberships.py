"""Ports that are put into VLANs one by one, tagged or untagged, and have a VLAN of their own for untagged frames."""

from __future__ import annotations

from typing import NamedTuple

from auditor.core.values import VlanSet
from auditor.reading.fields import REMOVED, UNTAGGED
from auditor.topology.interfaces import Interface
from auditor.topology.layer2 import UNNUMBERED


class Joined(NamedTuple):
    """The VLANs of such a port; ``beyond`` leave it untagged though untagged frames enter another."""

    untagged: int | None
    tagged: VlanSet
    beyond: VlanSet


def joined(interface: Interface) -> Joined:
    """Carry out a port's lines in their order; it begins in VLAN 1.

    A trunk has lines of its own, and sends the VLAN that untagged frames enter untagged and all others tagged, whatever
    the lines say.
    """
    tagged: set[int] = set()
    untagged = {UNNUMBERED}
    lines = interface.trunk_memberships if interface.mode == "trunk" else interface.memberships
    for how, vids in lines:
        tagged -= vids
        untagged -= vids
        if how != REMOVED:
            (untagged if how == UNTAGGED else tagged).update(vids)
    off = interface.off_vlans
    tagged -= off
    untagged -= off
    pvid = int(interface.pvid or UNNUMBERED)
    if interface.mode == "trunk":
        every = tagged | untagged
        untagged = {pvid} & every
        tagged = every - untagged
    enters = pvid if pvid in untagged and interface.admits != "tagged" else None
    beyond = untagged - {enters}
    if interface.admits == "untagged":
        tagged = set()  # tagged frames leave it, and none is let in
    return Joined(enters, VlanSet(tagged | beyond), VlanSet(beyond))
