"""Expected settings in a platform's own words, by its Jinja2 template. What is written here is never sent anywhere."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from ipaddress import IPv4Network
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined, TemplateError

from auditor.core.addresses import address_range, host_range, interface_address, merge_ranges, subtract_ranges
from auditor.core.dhcp_options import usual_form
from auditor.core.domains import in_order
from auditor.core.port_names import MOST_NAMES
from auditor.core.state import DeviceState
from auditor.core.values import VlanSet, duration_text
from auditor.errors import RenderError
from auditor.platforms.catalogue import template_text
from auditor.platforms.pieces import FILE as PIECES
from auditor.platforms.pieces import pieces_of

TEMPLATE = "expected.cfg.j2"
_FAILURES = (TemplateError, ValueError, TypeError, LookupError, AttributeError, ArithmeticError, re.error)
"""What a template fails with: its own errors, and those of what it calls with a device's text."""


class Unwritable(Exception):  # noqa: N818 - no error: a text of a plan or device that a dialect has no safe form for
    """A text cannot be written in a dialect so that it is taken for nothing else."""


def render(platform: str, state: DeviceState, role: str, passphrases: dict[str, str] | None = None) -> str:
    """Return a state as configuration text of a platform.

    Args:
        platform: a platform's name.
        state: the settings.
        role: gateway, core, access or ap; some platforms are written differently for each.
        passphrases: by Wi-Fi name, what to write in the passphrase's place; ``<passphrase>`` if unsaid.

    Raises:
        RenderError: the template fails.
    """
    values = {"state": state, "role": role, "passphrases": passphrases or {}}
    return "\n".join(render_lines(platform, TEMPLATE, values)).strip("\n") + "\n"


def render_lines(platform: str, file: str, values: Mapping[str, Any]) -> list[str]:
    """Return what one of a platform's templates makes of some values, line by line.

    Raises:
        RenderError: the template fails.
        Unwritable: it says that a text cannot be written safely.
    """
    try:
        text = _environment().get_template(f"{platform}/{file}").render(values)
    except _FAILURES as error:
        line = getattr(error, "lineno", None)
        place = f"{platform}/{file}" + (f":{line}" if line else "")
        raise RenderError(f"{place}: {error}") from error
    return [line.rstrip() for line in text.splitlines()]


def _source(name: str) -> str:
    platform, file = name.split("/")
    return pieces_of(platform).source if file == PIECES else template_text(platform, file)


@cache
def _environment() -> Environment:
    """Return Jinja2 as all templates of platforms are written for it."""
    made = Environment(
        loader=FunctionLoader(_source),
        undefined=StrictUndefined,
        extensions=["jinja2.ext.do"],
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # noqa: S701 - configuration text, no HTML
    )
    made.filters.update(
        option_form=usual_form,
        ip=lambda text: str(interface_address(text).ip),
        mask=lambda text: str(interface_address(text).netmask),
        network=lambda text: str(interface_address(text).network.network_address),
        prefix_length=lambda text: interface_address(text).network.prefixlen,
        duration=duration_text,
        carried=lambda port: in_order({*port.tagged, *([port.untagged] if port.untagged else [])}),
        vlans=lambda numbers: str(VlanSet(numbers)),
        vlan_ids=lambda text: sorted(VlanSet.parse(text)),
        minus=lambda values, others: [value for value in values or () if value not in (others or ())],
        first_or=lambda values, other: next(iter(values), other),
        as_words=lambda value: value.split(",") if isinstance(value, str) else value,
        ends=lambda span: " ".join(dict.fromkeys(span.split("-"))),
        with_mask=lambda text: interface_address(text).with_netmask.replace("/", " "),
        applied=lambda value, macro: macro(value),
        each=lambda values, form: "".join(f"{form.format(value)}\n" for value in values or ()),
        as_line=lambda value, form: form.format(value),
        interface_in=lambda prefix, state: _interface_of(state, prefix),
        holes=_holes,
        pool_start=_pool_start,
        pool_count=_pool_count,
        fit=fit,
        quoted=_quoted,
        part=part,
        without=_without,
        holding=_holding,
        dotted=_dotted,
        blanks=lambda text: text.replace("\ue000", " "),
        is_addresses=lambda text: all(part.replace(".", "").isdecimal() for part in text.split(",")),
    )
    made.tests["in_prefix"] = lambda text, prefix: address_range(text)[0] in IPv4Network(prefix)
    made.tests["holding"] = _holding
    made.tests["within"] = lambda text, prefix: address_range(text.split("/")[0])[0] in IPv4Network(prefix)
    made.tests["match_word"] = lambda text, pattern: re.fullmatch(pattern, text) is not None
    made.tests["contains_word"] = lambda words, word: word in words
    made.globals["range"] = _range
    made.globals.update(changes=_changes)
    made.globals.update(interface_of=_interface_of, index_of=lambda items, key: list(items).index(key) + 1)
    return made


def _changes(old: Mapping[Any, Any] | None, new: Mapping[Any, Any] | None) -> list[tuple[Any, Any, Any]]:
    """Return each key whose value is another one, with both of them; ``None`` where there is none."""
    old, new = old or {}, new or {}
    return [(key, old.get(key), new.get(key)) for key in {**old, **new} if old.get(key) != new.get(key)]


def _range(*ends: int) -> range:
    """Return a range as Python does, if it is no longer than one of anything that a device numbers.

    Raises:
        ValueError: it is longer: its ends come from a device's text.
    """
    found = range(*ends)
    if len(found) > MOST_NAMES:
        raise ValueError("a range is longer than any that a device can have")
    return found


def _interface_of(state: DeviceState, prefix: str) -> str:
    """Return the name that templates give the layer-3 interface of a prefix: ``vlan`` and its VLAN id."""
    net = IPv4Network(prefix)
    for vid, gateway in state.gateways.items():
        for address in (*gateway.addresses, *gateway.shared_addresses):
            if address != "dhcp" and interface_address(address).ip in net:
                return f"vlan{vid}"
    return "none"


def _holes(pools: tuple[str, ...], prefix: str) -> list[tuple[str, str]]:
    """Return the ranges of a prefix's hosts that are in no pool, as first and last address."""
    whole = [host_range(IPv4Network(prefix))]
    return [(str(a), str(b)) for a, b in subtract_ranges(whole, [address_range(pool) for pool in pools])]


def _pool_start(pools: tuple[str, ...], prefix: str) -> int:
    """Return the offset of the first pool's first address from the network address."""
    return int(address_range(pools[0])[0]) - int(IPv4Network(prefix).network_address)


def _pool_count(pools: tuple[str, ...]) -> int:
    """Return how many addresses the first run of pools has."""
    first, last = merge_ranges(address_range(pool) for pool in pools)[0]
    return int(last) - int(first) + 1


def fit(text: str, pattern: str = ".+") -> str:
    """Return a text that may stand in a command as it is.

    Raises:
        Unwritable: the pattern does not match the whole of it.
    """
    if re.fullmatch(pattern, text) is None:
        raise Unwritable(text)
    return text


def _quoted(text: str, escapes: str = '\\"', mark: str = '"', forbidden: str = "") -> str:
    """Return a text in quotes, a backslash before each of the ``escapes``.

    Raises:
        Unwritable: one of the ``forbidden`` signs is in it, or the mark itself where it cannot be escaped.
    """
    if any(sign in text for sign in forbidden) or (mark in text and mark not in escapes):
        raise Unwritable(text)
    return mark + "".join("\\" + sign if sign in escapes else sign for sign in text) + mark


def part(texts: Iterable[str], pattern: str) -> list[str]:
    """Return the first group (or else the whole) of each text that the pattern matches wholly, in any case."""
    found = [re.fullmatch(pattern, text.strip(), re.IGNORECASE) for text in texts]
    return [match[1] if match.re.groups else match[0] for match in found if match]


def _without(ranges: Iterable[str], holes: Iterable[str]) -> list[str]:
    """Return the addresses of ranges that are in none of the others, as ranges ``first-last``."""
    left = subtract_ranges([address_range(text) for text in ranges], [address_range(text) for text in holes])
    return [f"{first}-{last}" for first, last in left]


def _holding(text: str, ranges: Iterable[str]) -> bool:
    """Return whether a range of addresses has some of those of other ranges."""
    first, last = address_range(text)
    return any(low <= last and first <= high for low, high in map(address_range, ranges))


def _dotted(octets: str) -> str:
    """Write octets with colons between them as groups of four digits: ``0100.005e.0053.20``."""
    digits = octets.replace(":", "")
    return ".".join(digits[at : at + 4] for at in range(0, len(digits), 4))
