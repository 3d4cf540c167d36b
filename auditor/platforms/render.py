"""Expected settings in a platform's own words, by its Jinja2 template. What is written here is never sent anywhere."""

from __future__ import annotations

import re
from functools import cache
from ipaddress import IPv4Network

from jinja2 import Environment, FunctionLoader, StrictUndefined, TemplateError

from auditor.errors import RenderError
from auditor.model.state import DeviceState
from auditor.model.values import (
    VlanSet,
    address_range,
    duration_text,
    host_range,
    interface_address,
    merge_ranges,
    subtract_ranges,
)
from auditor.platforms.catalogue import template_text

TEMPLATE = "expected.cfg.j2"


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
    try:
        template = _environment().get_template(f"{platform}/{TEMPLATE}")
        text = template.render(state=state, role=role, passphrases=passphrases or {})
    except (TemplateError, ValueError, TypeError) as error:
        line = getattr(error, "lineno", None)
        place = f"{platform}/{TEMPLATE}" + (f":{line}" if line else "")
        raise RenderError(f"{place}: {error}") from error
    return "\n".join(line.rstrip() for line in text.splitlines()).strip("\n") + "\n"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FunctionLoader(lambda name: template_text(*name.split("/"))),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # noqa: S701 - configuration text, no HTML
    )
    environment.filters.update(
        ip=lambda text: str(interface_address(text).ip),
        mask=lambda text: str(interface_address(text).netmask),
        network=lambda text: str(interface_address(text).network.network_address),
        prefix_length=lambda text: interface_address(text).network.prefixlen,
        duration=duration_text,
        carried=lambda port: sorted({*port.tagged_vlans, *([port.untagged_vlan] if port.untagged_vlan else [])}),
        vlans=lambda numbers: str(VlanSet(numbers)),
        holes=_holes,
        pool_start=_pool_start,
        pool_count=_pool_count,
        is_addresses=lambda text: all(part.replace(".", "").isdecimal() for part in text.split(",")),
    )
    environment.tests["match_word"] = lambda text, pattern: re.fullmatch(pattern, text) is not None
    environment.tests["contains_word"] = lambda words, word: word in words
    environment.globals.update(interface_of=_interface_of, index_of=lambda items, key: list(items).index(key) + 1)
    return environment


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
