"""What devices do with frames: the models of bridging that ``bridging`` in platform.yaml names, each told here.

The words are those of IEEE 802.1Q. Untagged frames that enter a port are of the VLAN that its PVID names. A VLAN has a
member set, the ports that its frames may leave by, and an untagged set, those that they leave without a tag.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from auditor.platforms.shape import named


@dataclass(frozen=True, slots=True)
class Bridging:
    """A model of bridging: what is so on all devices that work in this way.

    Attributes:
        untouched: what a port is that no line says anything of: an ``access`` port, ``routed`` and so no part of a
            bridge, or an access port where ``some-switch``, that is, where any port of the device has switching lines.
        bundled_ports: a port in a bundle (an aggregator of IEEE 802.1AX) is listed as a port all the same; elsewhere
            only the bundle is a port of the bridge.
        members_alike: a port in a bundle is taken out of it where its VLAN lines are not those of the bundle.
        by_use: a VLAN is there by being used; elsewhere it needs an entry of its own.
        pvid_apart: being in a VLAN's untagged set does not make that VLAN the port's PVID.
        negotiates: a port whose mode no line says may talk to its neighbour about it.
        trunks_add: a trunk's list adds VLANs to the one that untouched ports are in, line by line.
        members_first: the VLAN table holds only for ports that are on its bridge, and a bridge that keeps VLANs apart
            leaves nothing to VLAN interfaces that are laid on its ports.
        groups_of_vlans: a bridge that joins interfaces of one VLAN alone is that VLAN; elsewhere it has no number.
        empty_bridges: all ports of a bridge are in the configuration; a bridge without any carries nothing.
        air_apart: an interface that takes frames from the air and is on no bridge is one of its own.
        begins_untagged: a port is in the untagged set of VLAN 1 until another VLAN has it in its own, or a line of VLAN
            1 takes it out.
        last_entry: of several entries of one VLAN in a table the last holds alone; elsewhere they add up.
        either: a port is in a VLAN tagged or untagged, and what lists it as both cannot be.
        chip_port: how a port is called that the VLAN table of a bridge knows by a number, made of {bridge} and {port}.
    """

    untouched: Literal["access", "routed", "some-switch"] = "routed"
    bundled_ports: bool = False
    members_alike: bool = False
    by_use: bool = False
    pvid_apart: bool = False
    negotiates: bool = False
    trunks_add: bool = False
    members_first: bool = False
    groups_of_vlans: bool = False
    empty_bridges: bool = False
    air_apart: bool = False
    begins_untagged: bool = False
    last_entry: bool = False
    either: bool = False
    chip_port: str = "{port}"


ACCESS_AND_TRUNK = Bridging(untouched="access")
"""Each port has a mode. An access port is in the member set and the untagged set of one VLAN, its PVID; an untouched
port is one, in VLAN 1. A trunk is in the member sets of all VLANs, or of those that its list leaves, and in the
untagged set of its native VLAN alone, which is its PVID."""

ACCESS_TRUNK_OR_ROUTED = Bridging(
    untouched="some-switch", bundled_ports=True, members_alike=True, groups_of_vlans=True, negotiates=True
)
"""As access-and-trunk, on switches and on routers: where no port at all has switching lines, all are routed. Ports in a
bundle keep lines of their own, which have to be those of the bundle. A bridge group joins interfaces, be they
radios; where all of them take off the same tag, it is that VLAN. A port that does not say its mode may negotiate
one: which one, the device knows."""

ROUTED_UNTIL_SWITCHED = Bridging()
"""A port is no part of the bridge until a line puts it there: as an access port in one VLAN, or as a trunk that lists
its VLANs and, perhaps, its native one."""

PORTS_JOIN_VLANS = Bridging(untouched="access", trunks_add=True)
"""A port begins in the untagged set of VLAN 1 and joins and leaves VLANs one by one, tagged or untagged; its PVID is a
line of its own. A trunk sends the VLAN of its PVID untagged and all others tagged."""

VLANS_LIST_PORTS = Bridging(begins_untagged=True, either=True)
"""Each VLAN lists its member set and its untagged set. A port is in one untagged set at most, and that VLAN is its
PVID; in none, it lets tagged frames in alone. It begins in that of VLAN 1."""

VLANS_LIST_PORTS_BESIDE_PVIDS = Bridging(pvid_apart=True)
"""Each VLAN lists its member set and its untagged set, and each port has a PVID, 1 where none is said: frames may leave
a port untagged of a VLAN that untagged frames do not enter by it."""

VLAN_FILTERING_BRIDGE = Bridging(bundled_ports=True, by_use=True, pvid_apart=True, members_first=True)
"""A bridge has ports, each with its PVID, and one VLAN table with member sets and untagged sets, which holds where the
bridge is told to filter by VLAN; the bridge itself is a member where the device is to be reached. A bridge that does
not filter is one broadcast domain without a number, and passes the tags of interfaces that are laid on it."""

BRIDGE_OF_SUBINTERFACES = Bridging(by_use=True, empty_bridges=True)
"""A VLAN is a subinterface, which takes its tag off and puts it on. A bridge joins ports or subinterfaces, and keeps
VLANs apart only where it is told to: then its ports list their tagged VLANs and have a PVID."""

BRIDGE_OR_SWITCH_CHIP = Bridging(by_use=True, last_entry=True, chip_port="{bridge}:{port}")
"""A bridge with a VLAN table, a bridge for each VLAN, or a switch chip with a VLAN table of its own, in which ports,
one of them the device itself, have numbers. Interfaces for Wi-Fi join bridges."""

SWITCH_INTERFACE = Bridging(by_use=True, air_apart=True)
"""Ports are joined to a switch interface, whose untagged frames are in no VLAN; its tagged frames are those of the
VLANs whose interfaces are laid on it. What clients of a Wi-Fi name send comes to an interface of its own, which may be
joined to a switch interface, too."""

MODELS = {
    "access-and-trunk": ACCESS_AND_TRUNK,
    "access-trunk-or-routed": ACCESS_TRUNK_OR_ROUTED,
    "routed-until-switched": ROUTED_UNTIL_SWITCHED,
    "ports-join-vlans": PORTS_JOIN_VLANS,
    "vlans-list-ports": VLANS_LIST_PORTS,
    "vlans-list-ports-beside-pvids": VLANS_LIST_PORTS_BESIDE_PVIDS,
    "vlan-filtering-bridge": VLAN_FILTERING_BRIDGE,
    "bridge-of-subinterfaces": BRIDGE_OF_SUBINTERFACES,
    "bridge-or-switch-chip": BRIDGE_OR_SWITCH_CHIP,
    "switch-interface": SWITCH_INTERFACE,
}
"""By the word that stands in platform.yaml under ``bridging``."""


BridgingModel = Annotated[Bridging, named(MODELS, "bridging")]
