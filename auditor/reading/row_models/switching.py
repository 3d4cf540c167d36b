"""Rows about interfaces and VLANs."""

from __future__ import annotations

from auditor.core.values import VlanSet
from auditor.reading.fields import (
    AllowedVlans,
    Commas,
    Flag,
    Ipv4,
    Memberships,
    OffFlag,
    Offset,
    PortNames,
    Present,
    Servers,
    VlanRef,
    VlanRefs,
    Vlans,
    WordList,
)
from auditor.reading.row_models.row import Layer3Fields, Row


class InterfaceRow(Layer3Fields):
    """Something about one interface; rows of the same name add up, the later one wins.

    Attributes:
        kind: port, bundle, bridge, vlan, subinterface, radio, network, shared, range or other; by its name if unsaid.
        alias: the name it was born with, where it can be renamed.
        allowed_vlans: the operations on a trunk's allowed list, in their order.
        native_alone: a trunk carries its native VLAN alone until its list says more.
        trunk_memberships: as ``memberships``, of lines that count where the mode is ``trunk``, and there alone.
        memberships: the lines that put a port into VLANs and out of them; ``pvid`` the VLAN that untagged frames enter
            there, where the mode is ``general`` or a trunk's list adds up; ``off_vlans`` those that it is never in.
        voice: telephones on it are in the voice VLAN of the whole device.
        vlan_name: the name of the VLAN whose interface this is.
        vlan_members: VLANs by name, number or range, or ``all``: those that a trunk carries, the one of an access port.
        switched: it is a switching port, whatever else is said.
        tagged_in, untagged_in: VLANs that the port is put into beside what these say of their ports.
        applies_to: the ports that a row of the kind ``range`` holds for.
        routed: it is no switching port; ``layer3``, ``layer2``: it has lines that only such an interface has.
        phone_vlan: the voice VLAN where the mode is ``phone``, in which the native VLAN is that of other terminals.
        trunk_groups: of a trunk, as of a VLAN: a VLAN that is in some is carried by trunks of these alone.
        isolation: clients on it cannot reach each other; ``isolated_in``: not in this bridge, if it is on that.
        unit: the number of a subinterface; one that has no ``vlan_tag`` is the port itself.
        parent: the interface it lies on; ``vlan_tag`` its 802.1Q tag there, ``tag_native`` that it travels untagged.
        bridge, bundle: the bridge or bundle that it is a member of; ``members`` the other way round.
        vlan_aware: of a bridge, whether it keeps VLANs apart.
        admits: which frames enter: ``all``, ``tagged`` or ``untagged``.
        bridged: of a network, that its members form a bridge.
        relays: DHCP requests on it are relayed to the servers of the whole device.
        upto: what is said holds for all VLAN interfaces up to this one.
        relay_answers: servers that such requests are relayed to are heard on it, and on none that does not say so.
        label: what else it is called; its description where it has no other.
        lets_in: the logins, and ``snmp``, by which the device is reached through it, where that is said of interfaces.
        dns_leased: the DNS servers that the carrier names there are used by the device, too; ``dns_replaced``: these
            alone, in place of those that the device lists.
        vrf: the VRF that its addresses are in.
        in_lists: the lists that it is in; where a list is a member of a bridge, what is in it is.
        trusted: DHCP servers that are connected here may answer, where that is snooped; ``arp_trusted``: so may ARP.
        believes_marked: as of a SystemRow, for requests that come in here.
        aggregation: how it takes part in its bundle, or how the bundle is made: ``active`` or ``passive`` where that is
            agreed on by LACP, ``static``, or another protocol.
        min_links: of a bundle, how many of its ports must be on for it to be up.
        tracked: interfaces without which a row's shared addresses are not in use.
        zone: the zone that it is in, where interfaces of no zone pass nothing; ``services``, ``protocols`` and
            ``barred`` as of a zone, in whose place they count where one of them is said.
        session: it is a session that is dialled, and leaves only by an interface that is ``dialled``.
        arp: ``none`` where no station is told its MAC address (RFC 826), ``known`` where those are that it knows.
        network_address: what a line says that the network of its address is.
        relay_from: the address that its relay names as the one of the network in which requests were heard.
        peer_dns: where its address is leased, the DNS servers that come with it are asked, too.
        snooping: of a bridge, that DHCP servers answer by ports alone that are ``trusted``.
        dials: the pool of interfaces by which a session with the carrier is had over it, if sessions are ``dialled``
            there; ``dial_pool`` the pool that such an interface is in.
        next_hops: the routers that pass on what is for no own network, where that is said of an interface.
        listed_mode: the mode that the device lists when it is asked; it counts where the configuration says none.
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
    peer_dns: Flag = False
    trunk_groups: WordList = ()
    allowed_vlans: AllowedVlans = ()
    native_alone: Flag = False
    memberships: Memberships = ()
    trunk_memberships: Memberships = ()
    pvid: VlanRef = ""
    off_vlans: Vlans = VlanSet()
    voice: Flag = False
    vlan_name: str = ""
    vlan_members: VlanRefs = ()
    switched: Present = False
    applies_to: PortNames = ()
    tagged_vlans: Vlans = VlanSet()
    untagged_vlan: VlanRef = ""
    tagged_in: Vlans = VlanSet()
    untagged_in: Vlans = VlanSet()
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
    dns_leased: Flag = False
    dns_replaced: Flag = False
    isolation: Flag = False
    isolated_in: str = ""
    relays: Flag = False
    upto: str = ""
    relay_answers: Flag = False
    next_hops: WordList = ()
    label: str = ""
    lets_in: WordList = ()
    vrf: str = ""
    in_lists: WordList = ()
    arp: str = ""
    network_address: Ipv4 = ""
    relay_from: Ipv4 = ""
    snooping: Flag = False
    trusted: Flag = False
    arp_trusted: Flag = False
    believes_marked: Flag = False
    aggregation: str = ""
    min_links: Offset = 0
    tracked: WordList = ()
    zone: str = ""
    services: WordList = ()
    protocols: WordList = ()
    barred: WordList = ()
    session: Flag = False
    dials: str = ""
    dial_pool: str = ""
    listed_mode: str = ""
    dialled: Present = False

    @property
    def isolates(self) -> bool:
        """Whether clients on it cannot reach each other."""
        return self.isolation or bool(self.isolated_in and self.isolated_in == self.bridge)


class ZoneRow(Row):
    """A zone of interfaces: what the device itself takes in from there.

    ``services`` and ``protocols`` are let in, ``all`` of them too, but for those ``barred``. ``every``: all interfaces
    that are in no other zone are in this one.
    """

    name: str = ""
    services: WordList = ()
    protocols: WordList = ()
    barred: WordList = ()
    every: Present = False


class VlanRow(Layer3Fields):
    """One or several VLANs, and where a dialect lists it by VLAN, which ports they are on.

    ``bridge``: the bridge whose table this is; ``applied`` that it is in use, where a bridge says so apart. ``cpu``:
    whether the device itself is a member. ``index``: the VLAN, where no ``vlan_ids`` say otherwise. ``pvid_ports``:
    those of ``untagged_ports`` whose untagged frames enter it, whatever other rows say. ``ports``: ports on it, tagged
    or not as they are trunks or not. ``removed_ports``, ``not_tagged``, ``forbidden_ports``: ports that are not in it
    untagged, tagged or at all, whatever rows before say.
    ``l3_interface``: the name of its layer-3 interface. ``voice``: it is marked as one for voice. What a row says of
    layer 3 makes the VLAN's own interface. ``listed``: the device lists it when it is
    asked which VLANs there are, and ``listed_on`` its access ports.
    ``snooped``, ``arp_checked``: as of the VLANs that a SystemRow lists.
    """

    vlan_ids: Vlans = VlanSet()
    index: Vlans = VlanSet()
    name: str = ""
    bridge: str = ""
    tagged_ports: Commas = ()
    untagged_ports: Commas = ()
    pvid_ports: Commas = ()
    removed_ports: Commas = ()
    ports: Commas = ()
    not_tagged: Commas = ()
    forbidden_ports: Commas = ()
    l3_interface: str = ""
    cpu: Flag = True
    applied: Flag = True
    disabled: OffFlag = False
    voice: Flag = False
    trunk_groups: WordList = ()
    listed: Flag = False
    listed_on: Commas = ()
    snooped: Flag = False
    arp_checked: Flag = False

    @property
    def vids(self) -> VlanSet:
        """The VLANs that it is about."""
        return self.vlan_ids or self.index


class ChipVlanRow(Row):
    """VLANs in the table of a switch chip, and the names of the ports that are in them, the one inside among these."""

    vlan_ids: Vlans = VlanSet()
    ports: Commas = ()


class ChipPortRow(Row):
    """A port of a switch chip, by its name or by its number among the chip's ports, from 0.

    ``mode``: whether it looks at the chip's table; ``pvid``: the VLAN of untagged frames, or ``auto``; ``egress``: what
    it does with tags of frames that leave by it.
    """

    name: str = ""
    number: str = ""
    mode: str = ""
    pvid: str = ""
    egress: str = ""
