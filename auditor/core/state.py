"""DeviceState, the meeting point of plan and capture: what a device is set to, in no dialect.

Everything is keyed by its natural identity, so that order never matters. ``None`` is "not there" for one value;
a field that has several values at once (an SSID whose radios disagree) is a tuple of them.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer, PlainValidator, WithJsonSchema

from auditor.core.domains import Domain
from auditor.core.values import NO_VLANS, VlanSet

Mode = Literal["access", "trunk", "routed", "dynamic"]
"""``dynamic``: the port lets its neighbour talk it into a trunk; it is never planned, only observed."""

AREAS = ("hostname", "vlans", "ports", "gateways", "dhcp", "ssids", "uplinks", "management")

JUDGED_AREAS = (*AREAS, "isolation")
"""The areas of planned settings: those of a DeviceState, and what is decided from filters and prefixes together."""


class Setting(NamedTuple):
    """One place in a DeviceState: an area, or an item of it, or a field of that item."""

    area: str
    key: str = ""
    field: str = ""

    def __str__(self) -> str:
        return ".".join(part for part in self if part)

    @classmethod
    def parse(cls, text: str) -> Setting:
        """Return the setting that a person or a file means by a text; the last part is a field where there is such one.

        A text cannot tell an item called ``x.enabled`` from the field of ``x``: where it matters, settings are kept.
        """
        area, _, rest = text.partition(".")
        if area == "management":
            return cls(area, "", rest)
        key, _, field = rest.rpartition(".")
        known = area not in KEYED_AREAS or field in fields_of(area)
        return cls(area, key, field) if key and known else cls(area, rest)

    @property
    def item(self) -> Setting:
        """The place of the whole item."""
        return Setting(self.area, self.key)


SettingText = Annotated[
    Setting,
    PlainValidator(lambda value: value if isinstance(value, Setting) else Setting.parse(str(value))),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string"}),
]
"""A setting that is text at the border of JSON alone."""


class _Item(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Vlan(_Item):
    """A VLAN that exists on the device."""

    name: str | None = None


class Port(_Item):
    """A physical port or a bundle of ports.

    ``tagged`` never holds the untagged one. On a routed port there are no VLANs. Untagged frames may be in a bridge
    without a number; a tag is always one.
    """

    enabled: bool = True
    mode: Mode = "access"
    untagged: Domain | None = None
    tagged: VlanSet = NO_VLANS
    voice: int | None = None
    description: str | None = None


class Gateway(_Item):
    """The layer-3 interface of a VLAN. Addresses carry their prefix length; ``dhcp`` stands for a leased one."""

    addresses: tuple[str, ...] = ()
    shared_addresses: tuple[str, ...] = ()
    relay_to: tuple[str, ...] = ()


class DhcpScope(_Item):
    """What a DHCP server leases in one prefix.

    ``options`` by RFC 2132 number; ``reservations`` from address to MAC address.
    """

    pools: tuple[str, ...] = ()
    gateway: str | None = None
    dns: tuple[str, ...] | None = None
    domain: str | None = None
    lease_seconds: int | None = None
    options: dict[int, str] = Field(default_factory=dict)
    reservations: dict[str, str] = Field(default_factory=dict)


class Ssid(_Item):
    """A Wi-Fi name, on all radios that air it. A tuple holds what its radios disagree on."""

    vlan: Domain | tuple[Domain | None, ...] | None = None
    security: str | tuple[str, ...] | None = None
    bands: tuple[str, ...] | None = None
    hidden: bool | tuple[bool, ...] = False
    client_isolation: bool | tuple[bool, ...] = False
    enabled: bool | tuple[bool, ...] = True
    passphrase_matches: bool | None = None


class Uplink(_Item):
    """How a port gets its address from the carrier; what it has beside a leased one is its address, too.

    Where it has several, there are commas between them.
    """

    method: Literal["dhcp", "pppoe", "static"]
    address: str | None = None

    @property
    def addresses(self) -> tuple[str, ...]:
        """Each of its addresses."""
        return tuple(self.address.split(", ")) if self.address else ()

    @property
    def several(self) -> bool:
        """Whether it has more than one address, leased or not."""
        return len(self.addresses) > (self.method == "static")


class Management(_Item):
    """How the device is run: servers it uses (sorted), whether SNMP answers, which logins it offers (sorted)."""

    ntp: tuple[str, ...] | None = None
    dns: tuple[str, ...] | None = None
    syslog: tuple[str, ...] | None = None
    snmp: bool | None = None
    logins: tuple[str, ...] | None = None


class DeviceState(_Item):
    """All audited settings of one device."""

    hostname: str | None = None
    vlans: dict[Domain, Vlan] = Field(default_factory=dict)
    ports: dict[str, Port] = Field(default_factory=dict)
    gateways: dict[Domain, Gateway] = Field(default_factory=dict)
    dhcp: dict[str, DhcpScope] = Field(default_factory=dict)
    ssids: dict[str, Ssid] = Field(default_factory=dict)
    uplinks: dict[str, Uplink] = Field(default_factory=dict)
    management: Management = Management()

    def as_json(self) -> dict[str, Any]:
        """Return the state as JSON values: VLAN sets in list notation, sorted lists, keys as text."""
        dumped: dict[str, Any] = self.model_dump(mode="json")
        return dumped


KEYED_AREAS: dict[str, type[_Item]] = {
    "vlans": Vlan,
    "ports": Port,
    "gateways": Gateway,
    "dhcp": DhcpScope,
    "ssids": Ssid,
    "uplinks": Uplink,
}
"""The areas that hold items by key, and what an item is."""


def _model_of(area: str) -> type[_Item]:
    return Management if area == "management" else KEYED_AREAS[area]


def fields_of(area: str) -> tuple[str, ...]:
    """Return the field names of an item of an area, in their order."""
    return tuple(_model_of(area).model_fields)


def default_of(setting: Setting) -> Any:
    """Return the value that a field of an item has where nothing is said of it."""
    return _model_of(setting.area).model_fields[setting.field].get_default(call_default_factory=True)


def items_of(state: DeviceState, area: str) -> dict[str, _Item]:
    """Return the items of an area by their keys as text; management is one item without a key, others have none."""
    if area == "management":
        return {"": state.management}
    return {str(key): item for key, item in getattr(state, area).items()} if area in KEYED_AREAS else {}


def plain(value: Any) -> Any:
    """Return a setting's value as JSON has it: VLAN sets in list notation, sets as lists, keys as text."""
    if isinstance(value, VlanSet):
        return str(value)
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, dict):
        return {str(key): item for key, item in value.items()}
    return value


def as_plain(item: BaseModel) -> dict[str, Any]:
    """Return an item's fields as JSON has them."""
    return {name: plain(getattr(item, name)) for name in type(item).model_fields}
