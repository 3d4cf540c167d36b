"""DHCP scopes that only look wrong: because an address is, or because a pool is another scope's."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Network
from typing import Any

from auditor.core.addresses import address_range
from auditor.core.state import DhcpScope, Setting
from auditor.corrections.change import Change
from auditor.corrections.withheld.addresses import moved_networks, name_of
from auditor.corrections.withheld.context import DeviceContext
from auditor.corrections.withheld.words import say


def why(context: DeviceContext, changes: list[Change]) -> Iterator[str]:
    """Yield the reasons why what a scope gives out is left as it is; the first change is the finding's own."""
    change = changes[0]
    if change.setting.area == "dhcp" and change.before is not None and change.item is not None:
        yield from _other_pool(change, IPv4Network(str(change.key)))
        yield from _swapped(context, str(change.key))


def follows(context: DeviceContext, changes: list[Change]) -> Iterator[str]:
    """Yield what else is wrong instead of a scope, unless the same commands settle that."""
    change = changes[0]
    if change.setting.area != "dhcp":
        return
    settled = {each.setting.item for each in changes}
    for place, nets in moved_networks(context).items():
        if place not in settled and any(IPv4Network(str(change.key)).overlaps(net) for net in nets):
            yield say("address first", where=name_of(place))
    if change.before is None or change.item is None:
        yield from _same_scope(context, change, settled)


def _same_scope(context: DeviceContext, change: Change, settled: set[Setting]) -> Iterator[str]:
    """A planned scope is missing, and one that is not planned is in its prefix, or gives out addresses of it."""
    expected, observed = context.pair.expected.state.dhcp, context.pair.observed.dhcp
    missing, extra = expected.keys() - observed.keys(), observed.keys() - expected.keys()
    for planned in sorted(missing):
        for found in sorted(extra):
            if _related(found, observed[found], IPv4Network(planned)):
                other = {planned: found, found: planned}.get(str(change.key))
                if other and Setting("dhcp", other) not in settled:
                    yield say("same scope", planned=planned, found=found)


def _related(prefix: str, scope: DhcpScope, planned: IPv4Network) -> bool:
    """Return whether a scope may be a planned one with a slip in its mask or network."""
    return IPv4Network(prefix).overlaps(planned) or any(_within(pool, planned) for pool in scope.pools)


def _other_pool(change: Change, net: IPv4Network) -> Iterator[str]:
    """What a scope gives out is not in its prefix."""
    outside = [pool for pool in change.before.pools if not _within(pool, net)]
    if "pools" in change.fields and outside:
        yield say("other pool", outside=", ".join(outside), prefix=change.key)


def _within(pool: str, net: IPv4Network) -> bool:
    try:
        return all(end in net for end in address_range(pool))
    except ValueError:  # a range that runs backwards
        return False


def _swapped(context: DeviceContext, prefix: str) -> Iterator[str]:
    """Two scopes have what is planned for each other."""
    expected, observed = context.pair.expected.state.dhcp, context.pair.observed.dhcp
    if prefix not in expected or prefix not in observed:
        return
    for other in sorted(expected.keys() & observed.keys() - {prefix}):
        one = _like(observed[prefix], expected[prefix], expected[other])
        two = _like(observed[other], expected[other], expected[prefix])
        if one and two:
            yield say("swapped", prefix=prefix, other=other)


def _like(seen: DhcpScope, own: DhcpScope, other: DhcpScope) -> bool:
    """Return whether a scope is as another one should be in all that differs from its own plan, twice at least."""
    differing: list[tuple[Any, Any]] = [
        (getattr(seen, name), getattr(other, name))
        for name in DhcpScope.model_fields
        if getattr(seen, name) != getattr(own, name)
    ]
    return len(differing) > 1 and all(one == two for one, two in differing)
