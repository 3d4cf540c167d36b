"""The shape of a plan file: every key, its type and what it means when it is not there. No files, no cross-checks."""

from __future__ import annotations

import difflib
from datetime import date
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from auditor.model.values import address_range, duration_seconds, mac_address

SECURITIES = (
    "open", "enhanced-open", "wep",
    "wpa-personal", "wpa-wpa2-personal", "wpa2-personal", "wpa2-wpa3-personal", "wpa3-personal",
    "wpa-enterprise", "wpa-wpa2-enterprise", "wpa2-enterprise", "wpa2-wpa3-enterprise", "wpa3-enterprise",
)  # fmt: skip
BANDS = ("2.4", "5", "6")
ROLES = ("gateway", "core", "access", "ap")
LOGINS = ("ssh", "telnet", "http", "https")


def _wrong(message: str) -> PydanticCustomError:
    return PydanticCustomError("plan", "{message}", {"message": message})


def _text(value: Any) -> Any:
    """Take a number as it was written: a ticket 0123 is no octal number."""
    return getattr(value, "raw", value) if not isinstance(value, bool) else value


def _listed(value: Any) -> Any:
    return [value] if isinstance(value, str | int | float) and not isinstance(value, bool) else value


def _address(value: Any) -> Any:
    try:
        return IPv4Address(str(value).partition("/")[0])
    except ValueError:
        raise _wrong(f"expected an IPv4 address such as 10.40.10.1, not {value!r}") from None


def _prefix(value: Any) -> Any:
    try:
        return IPv4Network(value)
    except (ValueError, TypeError):
        pass
    try:
        near = IPv4Network(value, strict=False)
    except (ValueError, TypeError):
        raise _wrong(f"expected an IPv4 prefix such as 10.40.10.0/24, not {value!r}") from None
    raise _wrong(f"{value} has host bits set: the prefix is {near}")


def _checked(function: Any, what: str) -> BeforeValidator:
    def check(value: Any) -> Any:
        try:
            return function(value)
        except (ValueError, TypeError, AttributeError):
            raise _wrong(f"expected {what}, not {value!r}") from None

    return BeforeValidator(check)


def _secret(value: Any) -> Any:
    if not isinstance(value, dict):
        raise _wrong("a passphrase must not stand in the plan: write {env: NAME} and set that environment variable")
    return value


def _reservations(value: Any) -> Any:
    """Accept reservations by address, by MAC address, by name, or as a list; return them by address."""
    entries = value if isinstance(value, list) else value.items() if isinstance(value, dict) else None
    if entries is None:
        raise _wrong("expected reservations as ADDRESS: MAC, one a line")
    found: dict[Any, Any] = {}
    for entry in entries:
        key, told = entry if isinstance(entry, tuple) else ("", entry)
        if isinstance(told, dict):
            unknown = set(told) - {"address", "mac", "name"}
            if unknown or not {"address", "mac"} <= set(told):
                raise _wrong("expected a reservation as {address: …, mac: …}")
            address, mac = told["address"], told["mac"]
        else:
            address, mac = (told, key) if isinstance(told, str) and "." in told and ":" in str(key) else (key, told)
        if address in found:
            raise _wrong(f"{address} is reserved twice")
        found[address] = mac
    return found


def _uplink(value: Any) -> Any:
    if value in ("dhcp", "pppoe") or (isinstance(value, dict) and set(value) == {"static"}):
        return value
    raise _wrong("expected dhcp, pppoe or {static: ADDRESS/LENGTH}" + _near(value, ("dhcp", "pppoe", "static")))


def _uplink_address(value: str) -> str:
    IPv4Interface(value)
    return value


def _unlisted(value: Any) -> Any:
    if value in ("ignore", "disabled") or (isinstance(value, dict) and set(value) == {"access"}):
        return value
    raise _wrong("expected ignore, disabled or {access: SUBNET}" + _near(value, ("ignore", "disabled", "access")))


def _trunk(value: Any) -> Any:
    if isinstance(value, list) or value is None or value == "all":
        return value
    if isinstance(value, str):
        return [value]
    raise _wrong("expected a list of subnets, or all")


def _near(value: Any, known: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(str(value), known, 1)
    return f", not {value!r}" + (f": did you mean {near[0]}?" if near else "")


Text = Annotated[str, BeforeValidator(_text)]
Address = Annotated[IPv4Address, BeforeValidator(_address)]
Addresses = Annotated[list[Address], BeforeValidator(_listed)]
Prefix = Annotated[IPv4Network, BeforeValidator(_prefix)]
Texts = Annotated[list[Text], BeforeValidator(_listed)]
Duration = Annotated[int, _checked(lambda v: duration_seconds(_text(v)), "a duration such as 12h, 1d or 3600")]
VlanId = Annotated[int, Field(ge=1, le=4094)]
Pool = Annotated[tuple[IPv4Address, IPv4Address], _checked(address_range, "a range such as 10.40.10.50-10.40.10.199")]
Pools = Annotated[list[Pool], BeforeValidator(lambda v: [p.strip() for p in v.split(",")] if isinstance(v, str) else v)]
Mac = Annotated[str, _checked(mac_address, "a MAC address such as 00:00:5e:00:53:01")]
OptionNumber = Annotated[int, Field(ge=1, le=254)]
"""RFC 2132: 0 pads and 255 ends the option field."""
OptionValue = Annotated[
    str, BeforeValidator(lambda v: ",".join(str(_text(x)) for x in v) if isinstance(v, list) else str(_text(v)))
]


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


class Dhcp(Entry):
    """A DHCP scope, or a relay to a server elsewhere; ``none: true`` is written ``dhcp: none``."""

    none: bool = False
    pool: Pools = []
    relay: Addresses = []
    gateway: Address | None = None
    dns: Addresses | None = None
    domain: Text | None = None
    lease: Duration | None = None
    options: dict[OptionNumber, OptionValue] = {}
    reservations: Annotated[dict[Address, Mac], BeforeValidator(_reservations)] = {}

    @model_validator(mode="before")
    @classmethod
    def _shorthand(cls, value: Any) -> Any:
        if isinstance(value, str) and value != "none":
            raise _wrong(
                "expected none, {pool: FIRST-LAST} or {relay: [ADDRESS]}" + _near(value, ("none", "pool", "relay"))
            )
        return {"none": True} if value == "none" else value


class Subnet(Entry):
    """A subnet: one VLAN and one prefix. ``terminals``: how many are expected; ``isolated``: kept from the others."""

    vlan: VlanId
    prefix: Prefix
    terminals: Annotated[int, Field(ge=0)] | None = None
    isolated: bool = False
    gateway: GatewayAt = GatewayAt()
    dhcp: Dhcp | None = None

    @model_validator(mode="before")
    @classmethod
    def _shorthand(cls, value: Any) -> Any:
        if isinstance(value, dict) and isinstance(value.get("gateway"), str):
            return {**value, "gateway": {"on": value["gateway"]}}
        return value


class PassphraseFrom(Entry):
    """Where a passphrase is to be found; never the passphrase itself."""

    env: Text


class Wifi(Entry):
    """A Wi-Fi name. What is unsaid of ``bands`` and ``passphrase`` is not judged."""

    subnet: Text
    security: Literal[SECURITIES]  # type: ignore[valid-type]
    passphrase: Annotated[PassphraseFrom, BeforeValidator(_secret)] | None = None
    client_isolation: bool = False
    hidden: bool = False
    bands: Annotated[list[Annotated[Literal[BANDS], BeforeValidator(_text)]], BeforeValidator(_listed)] | None = None  # type: ignore[valid-type]
    on: Texts


class StaticUplink(Entry):
    """An uplink with a fixed address, with or without its prefix length."""

    static: Annotated[Text, _checked(_uplink_address, "an address such as 203.0.113.2/30")]


class PortPlan(Entry):
    """What a port should be: exactly one of access, trunk, uplink, off and ignore."""

    access: Text | None = None
    voice: Text | None = None
    trunk: Annotated[Literal["all"] | list[Text] | None, BeforeValidator(_trunk)] = None
    native: Text | None = None
    uplink: Annotated[Literal["dhcp", "pppoe"] | StaticUplink, BeforeValidator(_uplink)] | None = None
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
            raise _wrong(f"expected one of access, trunk, uplink, off: true and ignore: true, {said}")
        if self.voice and not self.access:
            raise _wrong("voice belongs to an access port")
        if self.native and self.trunk is None:
            raise _wrong("native belongs to a trunk port")
        return self


class ManagementPlan(Entry):
    """How devices are run; what is unsaid is not judged."""

    ntp: Texts | None = None
    dns: Texts | None = None
    syslog: Texts | None = None
    snmp: bool | None = None
    logins: Annotated[list[Literal[LOGINS]], BeforeValidator(_listed)] | None = None  # type: ignore[valid-type]


class UnlistedAccess(Entry):
    """Ports that are not listed are access ports of one subnet."""

    access: Text


Unlisted = Annotated[Literal["ignore", "disabled"] | UnlistedAccess, BeforeValidator(_unlisted)]


class Device(Entry):
    """A device. ``hostname`` where it calls itself something else than the plan does."""

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
    """An approved deviation (NIST SP 800-53 CM-6): a nonconformity that somebody approved, until a day."""

    device: Text
    setting: Text
    observed: Any = None
    reason: Text
    approved_by: Text
    ticket: Text = ""
    until: Annotated[
        date, _checked(lambda v: v if isinstance(v, date) else date.fromisoformat(v), "a day such as 2027-03-31")
    ]


class PlanFile(Entry):
    """A whole plan file."""

    format: Literal[1]
    site: Text
    reference: Text = ""
    reserved: list[Reserved] = []
    defaults: Defaults = Defaults()
    subnets: dict[str, Subnet] = {}
    wifi: dict[str, Wifi] = {}
    devices: dict[str, Device] = {}
    management: ManagementPlan | None = None
    links: list[Annotated[list[Text], Field(min_length=2, max_length=2)]] = []
    deviations: list[Deviation] = []
