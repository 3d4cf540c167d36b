"""Text and numbers of a plan file checked and turned into types; what is wrong is said in a sentence."""

from __future__ import annotations

import difflib
import re
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from auditor.core.addresses import address_range, network
from auditor.core.values import duration_seconds, mac_address


def wrong(message: str) -> PydanticCustomError:
    """Return an error that says a sentence."""
    return PydanticCustomError("plan", "{message}", {"message": message})


def shown(value: Any) -> str:
    """Return how an error quotes a value: never what a list or a mapping holds, for that might be a secret."""
    if isinstance(value, dict):
        return "keys and values"
    return "a list" if isinstance(value, list) else repr(value)


def as_text(value: Any) -> Any:
    """Take a number as it was written: a ticket 0123 is no octal number."""
    return getattr(value, "raw", value) if not isinstance(value, bool) else value


def listed(value: Any) -> Any:
    """Make a list of a single value."""
    return [value] if isinstance(value, str | int | float) and not isinstance(value, bool) else value


def whole_number(value: Any) -> Any:
    """Refuse what only Python takes for a whole number."""
    if isinstance(value, bool | float):
        raise wrong(f"expected a whole number, not {str(value).lower()}")
    return value


def read_format(value: Any) -> Any:
    """Take the number of the plan file's format."""
    if isinstance(value, bool) or str(value) != "1":
        raise wrong(f"expected one of 1, not {shown(value)}")
    return 1


def _address(value: Any) -> Any:
    try:
        return IPv4Interface(str(value)).ip
    except ValueError:
        raise wrong(f"expected an IPv4 address such as 10.40.10.1, not {shown(value)}") from None


def _prefix(value: Any) -> Any:
    try:
        if "/" not in value:
            raise ValueError("no length")  # noqa: TRY301 - told like the others
        near = network(value)
    except (ValueError, TypeError):
        raise wrong(f"expected an IPv4 prefix such as 10.40.10.0/24, not {shown(value)}") from None
    if near.network_address != IPv4Address(value.partition("/")[0].strip()):
        raise wrong(f"{value} has host bits set: the prefix is {near}")
    return near


def checked(function: Any, what: str) -> BeforeValidator:
    """Return a validator that calls a function, and says what was expected where that fails."""

    def check(value: Any) -> Any:
        try:
            return function(value)
        except (ValueError, TypeError, AttributeError):
            raise wrong(f"expected {what}, not {shown(value)}") from None

    return BeforeValidator(check)


def no_secret(value: Any) -> Any:
    """Refuse a passphrase that stands in the plan."""
    if not isinstance(value, dict):
        raise wrong("a passphrase must not stand in the plan: write {env: NAME} and set that environment variable")
    return value


def read_reservations(value: Any) -> Any:
    """Accept reservations by address, by MAC address, by name, or as a list; return them by address."""
    entries = value if isinstance(value, list) else value.items() if isinstance(value, dict) else None
    if entries is None:
        raise wrong("expected reservations as ADDRESS: MAC, one a line")
    found: dict[Any, Any] = {}
    for entry in entries:
        key, told = entry if isinstance(entry, tuple) else ("", entry)
        if isinstance(told, dict):
            unknown = set(told) - {"address", "mac", "name"}
            if unknown or not {"address", "mac"} <= set(told):
                raise wrong("expected a reservation as {address: …, mac: …}")
            address, mac = told["address"], told["mac"]
        else:
            address, mac = (told, key) if isinstance(told, str) and "." in told and ":" in str(key) else (key, told)
        if not isinstance(address, str):
            raise wrong("expected reservations as ADDRESS: MAC, one a line")
        if address in found:
            raise wrong(f"{address} is reserved twice")
        found[address] = mac
    return found


def read_options(value: Any) -> Any:
    """Refuse two keys that are one number."""
    numbers = [str(key).lstrip("0") for key in value] if isinstance(value, dict) else []
    twice = next((number for number in numbers if numbers.count(number) > 1), None)
    if twice:
        raise wrong(f"duplicate option {twice}: keep one of them")
    return value


def _option_value(value: Any) -> Any:
    values = [as_text(each) for each in (value if isinstance(value, list) else [value])]
    if not values or not all(isinstance(each, str | int | float) for each in values):
        raise wrong(f"expected text, or a list of addresses, not {shown(value)}")
    return ",".join(str(each) for each in values)


def read_uplink(value: Any) -> Any:
    """Refuse what is no uplink."""
    if value in ("dhcp", "pppoe") or (isinstance(value, dict) and set(value) == {"static"}):
        return value
    raise wrong("expected dhcp, pppoe or {static: ADDRESS/LENGTH}" + nearest(value, ("dhcp", "pppoe", "static")))


def read_uplink_address(value: Any) -> str:
    """Refuse what is no address, with or without its prefix length."""
    if not isinstance(value, str):
        raise TypeError(value)
    IPv4Interface(value)
    return value


def form_of(value: Any) -> str:
    """Return which of two forms a value has: the key of its mapping, or else a word or a list."""
    if isinstance(value, dict):
        return str(next(iter(value)))
    if isinstance(value, BaseModel):
        return next(iter(type(value).model_fields))
    return "list" if isinstance(value, list) else "word"


def read_unlisted(value: Any) -> Any:
    """Refuse what is no rule for unlisted ports."""
    if value in ("ignore", "disabled") or (isinstance(value, dict) and set(value) == {"access"}):
        return value
    raise wrong("expected ignore, disabled or {access: SUBNET}" + nearest(value, ("ignore", "disabled", "access")))


def read_trunk(value: Any) -> Any:
    """Make a list of a single subnet."""
    if isinstance(value, list) or value is None or value == "all":
        return value
    if isinstance(value, str):
        return [value]
    raise wrong("expected a list of subnets, or all")


def variable_name(value: str) -> str:
    """Refuse what is no name of an environment variable, and never say it: it may be the passphrase itself."""
    if not re.fullmatch(r"[A-Za-z_]\w*", value, re.ASCII):
        raise wrong("expected the name of an environment variable (letters, digits and _), not what stands there")
    return value


def _said(value: Any) -> Any:
    if isinstance(value, str) and not value.strip():
        raise ValueError(value)
    return value


def nearest(value: Any, known: tuple[str, ...]) -> str:
    """Return the end of an error: what was given, and the nearest word that is known."""
    near = difflib.get_close_matches(str(value), known, 1)
    return f", not {shown(value)}" + (f": did you mean {near[0]}?" if near else "")


Text = Annotated[str, BeforeValidator(as_text)]
NonEmptyText = Annotated[Text, checked(_said, "some words")]
"""Text that must not be empty."""
Address = Annotated[IPv4Address, BeforeValidator(_address)]
Addresses = Annotated[list[Address], BeforeValidator(listed)]
Prefix = Annotated[IPv4Network, BeforeValidator(_prefix)]
Texts = Annotated[list[Text], BeforeValidator(listed)]
Duration = Annotated[int, checked(lambda v: duration_seconds(str(as_text(v))), "a duration such as 12h, 1d or 3600")]
VlanId = Annotated[int, BeforeValidator(whole_number), Field(ge=1, le=4094)]
Pool = Annotated[
    tuple[IPv4Address, IPv4Address],
    checked(address_range, "a range such as 10.40.10.50-10.40.10.199, the lower address first"),
]
Pools = Annotated[list[Pool], BeforeValidator(lambda v: [p.strip() for p in v.split(",")] if isinstance(v, str) else v)]
Mac = Annotated[str, checked(lambda v: mac_address(as_text(v)), "a MAC address such as 00:00:5e:00:53:01")]
OptionNumber = Annotated[int, Field(ge=1, le=254)]
"""RFC 2132: 0 pads and 255 ends the option field."""
OptionValue = Annotated[str, BeforeValidator(_option_value)]
