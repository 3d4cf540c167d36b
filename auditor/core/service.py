"""What a site's network does for people: service paths, leaks, what is apart, links; part of the report.

A VLAN is walked as IEEE 802.1Q forwards frames: over the planned links, with the observed membership of both ends.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from auditor.core.state import SettingText

PathState = Literal["reached", "broken", "unverified"]
ServiceKind = Literal["wifi", "port", "device"]
SeparationState = Literal["separated", "shared", "unverified"]
LinkState = Literal["as planned", "stopped", "leaking", "unverified"]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Fault(_Part):
    """Where a service path ends that should go on, or where that is unknown.

    Attributes:
        device, place: where; the place is a port, a Wi-Fi name, or empty for the device itself.
        why: what is wrong there, as the end of a sentence: "core1 GigabitEthernet1/0/23 …".
        settings: the settings that say so, as in findings.
    """

    device: str
    place: str = ""
    why: str
    settings: list[SettingText] = Field(default_factory=list)


class ServicePath(_Part):
    """The way of a Wi-Fi name, of access ports that fare alike, or of a device itself, to the subnet's gateway.

    Attributes:
        kind, device, places: what is served where: the Wi-Fi name, the ports; nothing more for a device itself.
        subnet, vlan, prefix: what it should be in.
        state: reached when VLAN, gateway and DHCP are all as planned.
        way: whether the VLAN goes through to the gateway device, and back.
        gateway: whether the gateway's address is there; ``None`` where nothing routes the subnet.
        dhcp: whether addresses are given out as planned; ``None`` where none should be.
        gateway_device: the device that routes the subnet.
        through: the devices on the planned way, the serving one first.
        faults: where it is broken, or unverified; all places, nearest first.
    """

    kind: ServiceKind
    device: str
    places: list[str] = Field(default_factory=list)
    subnet: str
    vlan: int
    prefix: str
    state: PathState
    way: PathState
    gateway: PathState | None = None
    dhcp: PathState | None = None
    gateway_device: str | None = None
    through: list[str] = Field(default_factory=list)
    faults: list[Fault] = Field(default_factory=list)


class Leak(_Part):
    """A subnet's VLAN where the plan does not have it.

    Attributes:
        subnet, vlan: what arrives.
        kind, device, place: where it arrives: a port, a Wi-Fi name, or just the device.
        at: the settings that cause it, as (device, setting).
    """

    subnet: str
    vlan: int
    kind: ServiceKind
    device: str
    place: str = ""
    at: list[tuple[str, SettingText]] = Field(default_factory=list)


class Separation(_Part):
    """Whether a subnet shares a broadcast domain with others. What a gateway routes between them is not judged here."""

    subnet: str
    vlan: int
    isolated: bool
    state: SeparationState
    shared_with: list[str] = Field(default_factory=list)


class LinkReport(_Part):
    """A planned link.

    Attributes:
        ends: device and port of both ends.
        planned, observed: VLANs that pass it, in list notation: as planned, and as seen in both directions.
        stopped, leaking: planned ones that do not pass; ones that pass and should not, or change their VLAN on the way.
    """

    ends: tuple[tuple[str, str], tuple[str, str]]
    planned: str
    observed: str | None
    stopped: str = ""
    leaking: str = ""
    state: LinkState


class Services(_Part):
    """All of it for one site."""

    paths: list[ServicePath] = Field(default_factory=list)
    leaks: list[Leak] = Field(default_factory=list)
    separated: list[Separation] = Field(default_factory=list)
    links: list[LinkReport] = Field(default_factory=list)
