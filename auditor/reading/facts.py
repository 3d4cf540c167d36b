"""The row models: what one record of a TextFSM template may say, in no dialect. Text becomes types here, once.

A template's ``Value ACCESS_VLAN`` fills the field ``access_vlan``; a Value that no model knows is an error in the
template. A template belongs to one *feature*, and a feature has one model below.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, TypeAdapter

from auditor.model.values import VlanSet
from auditor.reading.fields import (
    Addresses,
    AllowedVlans,
    Commas,
    Flag,
    Ipv4,
    Lines,
    Mac,
    Netmask,
    OffFlag,
    Offset,
    Prefix,
    Present,
    Ranges,
    Seconds,
    Servers,
    VlanRef,
    Vlans,
    Words,
)


class Row(BaseModel):
    """A record of any feature. ``inactive``: the statement is there but switched off, as if it were not."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    inactive: OffFlag = False


class _Layer3(Row):
    """What may stand wherever a dialect puts a layer-3 interface."""

    addresses: Addresses = []
    netmask: Netmask = ""
    shared_addresses: Addresses = []
    relay_to: Servers = []
    method: str = ""


class InterfaceRow(_Layer3):
    """Something about one interface; rows of the same name add up, the later one wins.

    Attributes:
        kind: port, bundle, bridge, vlan, subinterface, radio, network, shared or other; by its name where unsaid.
        alias: the name it was born with, where it can be renamed.
        allowed_vlans: the operations on a trunk's allowed list, in their order.
        routed: it is no switching port; ``layer3``: it has lines that only a layer-3 interface has.
        isolation: stations on it do not reach each other.
        parent: the interface it lies on; ``vlan_tag`` its 802.1Q tag there, ``tag_native`` that it travels untagged.
        bridge, bundle: the bridge or bundle that it is a member of; ``members`` the other way round.
        vlan_aware: of a bridge, whether it keeps VLANs apart.
        admits: which frames enter: ``all``, ``tagged`` or ``untagged``.
        bridged: of a network, that its members form a bridge.
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
    allowed_vlans: AllowedVlans = []
    tagged_vlans: Vlans = VlanSet()
    untagged_vlan: VlanRef = ""
    routed: Present = False
    layer3: Present = False
    parent: str = ""
    vlan_tag: VlanRef = ""
    tag_native: Flag = False
    bridge: str = ""
    bundle: str = ""
    members: Commas = []
    vlan_aware: Flag = False
    admits: str = ""
    bridged: Flag = False
    dns: Servers = []
    isolation: Flag = False


class VlanRow(_Layer3):
    """One or several VLANs, and where a dialect lists it by VLAN, which ports they are on.

    ``bridge``: the bridge whose table this is. ``cpu``: whether the device itself is a member. ``index``: the VLAN,
    where no ``vlan_ids`` say otherwise.
    """

    vlan_ids: Vlans = VlanSet()
    index: Vlans = VlanSet()
    name: str = ""
    bridge: str = ""
    tagged_ports: Commas = []
    untagged_ports: Commas = []
    cpu: Flag = True
    disabled: OffFlag = False


class _Dhcp(Row):
    """What a DHCP server tells its clients. ``ntp`` and ``wins`` are options 42 and 44 of RFC 2132."""

    gateway: Servers = []
    dns: Servers = []
    domain: str = ""
    lease: Seconds | None = None
    lease_days: int = 0
    lease_hours: int = 0
    lease_minutes: int = 0
    options: Lines = []
    ntp: Words = []
    wins: Words = []


class DhcpScopeRow(_Dhcp):
    """A DHCP scope that is served: known by its prefix, or by the interface it is served on.

    ``first`` and ``last`` are addresses, ``start`` and ``limit`` count from the network address; ``pool_name`` names
    a DhcpRangeRow.
    ``host`` and ``mac`` make it a reservation of one address.
    """

    name: str = ""
    network: Prefix = ""
    interface: str = ""
    disabled: OffFlag = False
    ranges: Ranges = []
    pool_name: str = ""
    first: Ipv4 = ""
    last: Ipv4 = ""
    start: Offset | None = None
    limit: Offset | None = None
    host: Ipv4 = ""
    mac: Mac = ""


class DhcpNetworkRow(_Dhcp):
    """What scopes of one prefix say, wherever they are served; without a prefix, what all of them say."""

    network: Prefix = ""


class DhcpRangeRow(Row):
    """A named set of address ranges, or one from ``first`` to ``last`` of it; rows of one name add up.

    ``next_name`` names the set that is used when it is used up.
    """

    name: str = ""
    ranges: Ranges = []
    first: Ipv4 = ""
    last: Ipv4 = ""
    next_name: str = ""


class DhcpExclusionRow(Row):
    """Addresses that no scope gives out."""

    ranges: Ranges = []


class DhcpReservationRow(Row):
    """An address kept for one MAC address; ``scope_name`` names the only scope that keeps it, where there is one."""

    address: Ipv4 = ""
    mac: Mac = ""
    scope_name: str = ""
    disabled: OffFlag = False


class DhcpOptionRow(Row):
    """A named DHCP option: its RFC 2132 number and value."""

    name: str = ""
    code: int = 0
    value: str = ""


class WifiRow(Row):
    """A Wi-Fi name, or a profile that such names take settings from.

    Attributes:
        name: the profile's own name, where it has one beside the SSID.
        space: of a profile, which of the four kinds below it is.
        security_profile, datapath, channel, configuration: names of profiles whose settings hold where this row
            says nothing, the first before the last.
        interface: the layer-2 interface that airs it; ``network`` the layer-3 network it leads into.
        radios: names of the radios that air it; ``master`` the interface whose radio it shares.
        security: the dialect's words for it, translated by platform.yaml; behind ``security_mode`` where it has one.
        passphrase_means: what ``security`` is where nothing says so and there is a passphrase.
        passphrase_form: how the passphrase is stored, for platform.yaml's ``passphrases``.
        isolation: stations do not reach each other; ``forwarding`` the other way round, as ``broadcast`` is to hidden.
        mode: what the interface is on the air; only access points count.
    """

    name: str = ""
    ssid: str = ""
    space: str = ""
    security_profile: str = ""
    datapath: str = ""
    channel: str = ""
    configuration: str = ""
    interface: str = ""
    network: Words = []
    radios: Words = []
    master: str = ""
    band: str = ""
    vlan: VlanRef = ""
    vlan_used: Flag = True
    security: Commas = []
    security_mode: str = ""
    passphrase_means: Commas = []
    passphrase: str = ""
    passphrase_form: str = ""
    hidden: Flag = False
    broadcast: Flag = True
    isolation: Flag = False
    forwarding: Flag = True
    disabled: OffFlag = False
    mode: str = ""


class RadioRow(Row):
    """A radio: its band, whether it is on, and where a dialect lists them here, the Wi-Fi names it airs."""

    name: str = ""
    band: str = ""
    disabled: OffFlag = False
    ssids: Lines = []


class SystemRow(Row):
    """Settings of the whole device. ``login_…``: whether that way in is open; ``logins`` opens several at once.

    ``syslog_name`` names a place that messages can go to; they do where some row has it as its ``syslog_action``.
    """

    hostname: str = ""
    domain: str = ""
    ntp: Words = []
    ntp_enabled: Flag = True
    dns: Servers = []
    syslog: Words = []
    syslog_name: str = ""
    syslog_action: str = ""
    syslog_used: Flag = True
    snmp: Flag = False
    logins: Words = []
    login_ssh: Flag = False
    login_telnet: Flag = False
    login_http: Flag = False
    login_https: Flag = False
    dhcp_service: Flag = True
    vlans_shown: Flag = False
    native_tagged: Flag = False
    wifi_elsewhere: Flag = False


FEATURES: dict[str, type[Row]] = {
    "interface": InterfaceRow,
    "vlan": VlanRow,
    "dhcp_scope": DhcpScopeRow,
    "dhcp_network": DhcpNetworkRow,
    "dhcp_range": DhcpRangeRow,
    "dhcp_exclusion": DhcpExclusionRow,
    "dhcp_reservation": DhcpReservationRow,
    "dhcp_option": DhcpOptionRow,
    "wifi": WifiRow,
    "wifi_profile": WifiRow,
    "radio": RadioRow,
    "system": SystemRow,
}
"""Feature to row model. A template's file name is its feature, or ``<feature>.<variant>``."""


def _text(value: str) -> str:
    return value


def together(first: Any, more: Any) -> Any:
    """Return two values of a list field as one."""
    return VlanSet(first | more) if isinstance(first, VlanSet) else first + more


@cache
def converters(feature: str) -> dict[str, Callable[[Any], Any]]:
    """Return for each field of a feature what turns text into its type; raises ValueError for what is no such thing."""
    found: dict[str, Callable[[Any], Any]] = {}
    for name, field in FEATURES[feature].model_fields.items():
        annotation: Any = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
        found[name] = _text if annotation is str else TypeAdapter(annotation).validate_python
    return found
