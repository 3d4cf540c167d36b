"""Rows about interfaces and VLANs."""

from __future__ import annotations

from auditor.core.values import VlanSet
from auditor.reading.fields import (
    AllowedVlans,
    Commas,
    Flag,
    Memberships,
    OffFlag,
    PortNames,
    Present,
    Servers,
    VlanRef,
    VlanRefs,
    Vlans,
    WordList,
)
from auditor.reading.row_models.row import Layer3Fields


class InterfaceRow(Layer3Fields):
    """Something about one interface; rows of the same name add up, the later one wins.

    Attributes:
        kind: port, bundle, bridge, vlan, subinterface, radio, network, shared, range or other; by its name if unsaid.
        alias: the name it was born with, where it can be renamed.
        allowed_vlans: the operations on a trunk's allowed list, in their order.
        native_alone: a trunk carries its native VLAN alone until its list says more.
        memberships: the lines that put a port into VLANs and out of them; ``pvid`` the VLAN that untagged frames enter
            there, where the mode is ``general`` or a trunk's list adds up; ``off_vlans`` those that it is never in.
        voice: telephones on it are in the voice VLAN of the whole device.
        vlan_name: the name of the VLAN whose interface this is.
        vlan_members: VLANs by name, number or range, or ``all``: those that a trunk carries, the one of an access port.
        switched: it is a switching port, whatever else is said.
        applies_to: the ports that a row of the kind ``range`` holds for.
        routed: it is no switching port; ``layer3``, ``layer2``: it has lines that only such an interface has.
        phone_vlan: the voice VLAN where the mode is ``phone``, in which the native VLAN is that of other terminals.
        trunk_groups: of a trunk, as of a VLAN: a VLAN that is in some is carried by trunks of these alone.
        isolation: clients on it cannot reach each other.
        unit: the number of a subinterface; one that has no ``vlan_tag`` is the port itself.
        parent: the interface it lies on; ``vlan_tag`` its 802.1Q tag there, ``tag_native`` that it travels untagged.
        bridge, bundle: the bridge or bundle that it is a member of; ``members`` the other way round.
        vlan_aware: of a bridge, whether it keeps VLANs apart.
        admits: which frames enter: ``all``, ``tagged`` or ``untagged``.
        bridged: of a network, that its members form a bridge.
        relays: DHCP requests on it are relayed to the servers of the whole device.
        label: what else it is called; its description where it has no other.
        lets_in: the logins, and ``snmp``, by which the device is reached through it, where that is said of interfaces.
        vrf: the VRF that its addresses are in.
    """

    name: str = ""
    kind: str = ""
    alias: str = ""
    description: str = ""
    disabled: OffFlag = False
    mode: str = ""
    access_vlan: VlanRef = ""
    native_vlan: VlanRef = ""
    native_tagged: Flag = False
    voice_vlan: VlanRef = ""
    phone_vlan: VlanRef = ""
    trunk_groups: WordList = ()
    allowed_vlans: AllowedVlans = ()
    native_alone: Flag = False
    memberships: Memberships = ()
    pvid: VlanRef = ""
    off_vlans: Vlans = VlanSet()
    voice: Flag = False
    vlan_name: str = ""
    vlan_members: VlanRefs = ()
    switched: Present = False
    applies_to: PortNames = ()
    tagged_vlans: Vlans = VlanSet()
    untagged_vlan: VlanRef = ""
    routed: Present = False
    layer2: Present = False
    layer3: Present = False
    unit: str = ""
    parent: str = ""
    vlan_tag: VlanRef = ""
    tag_native: Flag = False
    bridge: str = ""
    bundle: str = ""
    members: Commas = ()
    vlan_aware: Flag = False
    admits: str = ""
    bridged: Flag = False
    dns: Servers = ()
    isolation: Flag = False
    relays: Flag = False
    label: str = ""
    lets_in: WordList = ()
    vrf: str = ""


class VlanRow(Layer3Fields):
    """One or several VLANs, and where a dialect lists it by VLAN, which ports they are on.

    ``bridge``: the bridge whose table this is. ``cpu``: whether the device itself is a member. ``index``: the VLAN,
    where no ``vlan_ids`` say otherwise. ``ports``: ports on it, tagged or not as they are trunks or not.
    ``l3_interface``: the name of its layer-3 interface. ``voice``: it is marked as one for voice. What a row says of
    layer 3 makes the VLAN's own interface.
    """

    vlan_ids: Vlans = VlanSet()
    index: Vlans = VlanSet()
    name: str = ""
    bridge: str = ""
    tagged_ports: Commas = ()
    untagged_ports: Commas = ()
    ports: Commas = ()
    l3_interface: str = ""
    cpu: Flag = True
    disabled: OffFlag = False
    voice: Flag = False
    trunk_groups: WordList = ()

    @property
    def vids(self) -> VlanSet:
        """The VLANs that it is about."""
        return self.vlan_ids or self.index
