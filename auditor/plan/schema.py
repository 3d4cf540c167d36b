"""The shape of a plan file: every key, its type and what it means when it is not there. No files, no cross-checks."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag, model_validator

from auditor.plan.fields import (
    Address,
    Addresses,
    Duration,
    Mac,
    NonEmptyText,
    OptionNumber,
    OptionValue,
    Pools,
    Prefix,
    Text,
    Texts,
    VlanId,
    as_text,
    checked,
    form_of,
    listed,
    nearest,
    no_secret,
    read_format,
    read_options,
    read_reservations,
    read_trunk,
    read_unlisted,
    read_uplink,
    read_uplink_address,
    variable_name,
    whole_number,
    wrong,
)

SECURITIES = (
    "open", "enhanced-open", "wep",
    "wpa-personal", "wpa-wpa2-personal", "wpa2-personal", "wpa2-wpa3-personal", "wpa3-personal",
    "wpa-enterprise", "wpa-wpa2-enterprise", "wpa2-enterprise", "wpa2-wpa3-enterprise", "wpa3-enterprise",
)  # fmt: skip
BANDS = ("2.4", "5", "6")
ROLES = ("gateway", "core", "access", "ap")
LOGINS = ("ssh", "telnet", "http", "https")


class Entry(BaseModel):
    """Anything in a plan: unknown keys are errors, nothing changes once it is read."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Reserved(Entry):
    """A prefix that no subnet may touch."""

    prefix: Prefix
    why: Text = ""


class GatewayAt(Entry):
    """Where a subnet is routed.

    Attributes:
        on: the device; the default one if unsaid.
        address: its address in the subnet; the first host if unsaid.
        shared: the address that terminals use, where several gateways share one (VRRP, HSRP).
    """

    on: Text | None = None
    address: Address | None = None
    shared: Address | None = None


class DhcpPlan(Entry):
    """A DHCP scope, or a relay to a server elsewhere; ``none: true`` is written ``dhcp: none``."""

    none: bool = False
    pool: Pools = []
    relay: Addresses = []
    gateway: Address | None = None
    dns: Addresses | None = None
    domain: Text | None = None
    lease: Duration | None = None
    options: Annotated[dict[OptionNumber, OptionValue], BeforeValidator(read_options)] = {}
    reservations: Annotated[dict[Address, Mac], BeforeValidator(read_reservations)] = {}

    @model_validator(mode="before")
    @classmethod
    def _shorthand(cls, value: Any) -> Any:
        if isinstance(value, str) and value != "none":
            raise wrong(
                "expected none, {pool: FIRST-LAST} or {relay: [ADDRESS]}" + nearest(value, ("none", "pool", "relay"))
            )
        return {"none": True} if value == "none" else value


class Subnet(Entry):
    """A subnet: one VLAN and one prefix. ``terminals``: how many are expected; ``isolated``: kept from the others."""

    vlan: VlanId
    prefix: Prefix
    terminals: Annotated[int, BeforeValidator(whole_number), Field(ge=0)] | None = None
    isolated: bool = False
    gateway: GatewayAt = GatewayAt()
    dhcp: DhcpPlan | None = None

    @model_validator(mode="before")
    @classmethod
    def _shorthand(cls, value: Any) -> Any:
        if isinstance(value, dict) and isinstance(value.get("gateway"), str):
            return {**value, "gateway": {"on": value["gateway"]}}
        return value


class PassphraseFrom(Entry):
    """Where a passphrase is to be found; never the passphrase itself."""

    env: Annotated[Text, AfterValidator(variable_name)]


class WifiPlan(Entry):
    """A Wi-Fi name. What is unsaid of ``bands`` and ``passphrase`` is not judged."""

    subnet: Text
    security: Literal[SECURITIES]  # type: ignore[valid-type]
    passphrase: Annotated[PassphraseFrom, BeforeValidator(no_secret)] | None = None
    client_isolation: bool = False
    hidden: bool = False
    bands: Annotated[list[Annotated[Literal[BANDS], BeforeValidator(as_text)]], BeforeValidator(listed)] | None = None  # type: ignore[valid-type]
    on: Texts


class StaticUplink(Entry):
    """An uplink with a fixed address, with or without its prefix length."""

    static: Annotated[Text, checked(read_uplink_address, "an address such as 203.0.113.2/30")]


UplinkPlan = Annotated[
    Annotated[Literal["dhcp", "pppoe"], Tag("word")] | Annotated[StaticUplink, Tag("static")],
    Discriminator(form_of),
    BeforeValidator(read_uplink),
]
Trunk = Annotated[
    Annotated[Literal["all"], Tag("word")] | Annotated[list[Text], Tag("list")],
    Discriminator(form_of),
    BeforeValidator(read_trunk),
]


class PortPlan(Entry):
    """What a port should be: exactly one of access, trunk, uplink, off and ignore."""

    access: Text | None = None
    voice: Text | None = None
    trunk: Trunk | None = None
    native: Text | None = None
    uplink: UplinkPlan | None = None
    off: bool = False
    ignore: bool = False
    description: Text | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> PortPlan:
        kinds = [name for name in ("access", "trunk", "uplink", "off", "ignore") if getattr(self, name)]
        if self.trunk == []:
            kinds.append("trunk")
        if len(kinds) != 1:
            said = f"not {' and '.join(kinds)} at once" if kinds else "but it has none of them"
            raise wrong(f"expected one of access, trunk, uplink, off: true and ignore: true, {said}")
        if self.voice and not self.access:
            raise wrong("voice belongs to an access port")
        if self.native and self.trunk is None:
            raise wrong("native belongs to a trunk port")
        return self


class ManagementPlan(Entry):
    """How devices are run; what is unsaid is not judged."""

    ntp: Texts | None = None
    dns: Texts | None = None
    syslog: Texts | None = None
    snmp: bool | None = None
    logins: Annotated[list[Literal[LOGINS]], BeforeValidator(listed)] | None = None  # type: ignore[valid-type]


class UnlistedAccess(Entry):
    """Ports that are not listed are access ports of one subnet."""

    access: Text


Unlisted = Annotated[
    Annotated[Literal["ignore", "disabled"], Tag("word")] | Annotated[UnlistedAccess, Tag("access")],
    Discriminator(form_of),
    BeforeValidator(read_unlisted),
]


class Device(Entry):
    """A device. ``hostname`` where its hostname differs from its name in the plan."""

    role: Literal[ROLES]  # type: ignore[valid-type]
    platform: Text
    address: Address | None = None
    hostname: Text | None = None
    ports: dict[str, PortPlan] = {}
    unlisted_ports: Unlisted | None = None
    management: ManagementPlan | None = None


class Defaults(Entry):
    """What holds where a subnet or device says nothing."""

    gateway: Text | None = None
    dns: Addresses | None = None
    domain: Text | None = None
    lease: Duration | None = None
    unlisted_ports: Unlisted = "ignore"


class Deviation(Entry):
    """An approved deviation (NIST SP 800-53 CM-6): an approved nonconformity, with an end date.

    With ``line`` instead of ``observed`` it accepts an overriding line of the configuration: what it bears on stays
    unverified, and the audit can be complete without it.
    """

    device: Text
    setting: Text
    observed: Any = None
    line: Text = ""
    reason: NonEmptyText
    approved_by: NonEmptyText
    ticket: Text = ""
    until: Annotated[
        date, checked(lambda v: v if isinstance(v, date) else date.fromisoformat(v), "a day such as 2027-03-31")
    ]


class PlanFile(Entry):
    """A whole plan file."""

    format: Annotated[Literal[1], BeforeValidator(read_format)]
    site: Text
    reference: Text = ""
    reserved: list[Reserved] = []
    defaults: Defaults = Defaults()
    subnets: dict[str, Subnet] = {}
    wifi: dict[str, WifiPlan] = {}
    devices: dict[str, Device] = {}
    management: ManagementPlan | None = None
    links: list[Annotated[list[Text], Field(min_length=2, max_length=2)]] = []
    deviations: list[Deviation] = []
