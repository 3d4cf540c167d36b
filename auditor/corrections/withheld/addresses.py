"""Changes of addresses that would cut off the device, the person working on it, or the site."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from ipaddress import IPv4Network

from auditor.core.domains import domain
from auditor.core.state import Setting
from auditor.corrections.change import Change
from auditor.corrections.withheld.context import DeviceContext, Readdressing, addresses_in, host_of, networks_of
from auditor.corrections.withheld.words import say


def why(context: DeviceContext, changes: list[Change]) -> Iterator[str]:
    """Yield the reasons why some changes of addresses, brought about together, are withheld."""
    moves = context.readdressings(changes)
    yield from shares(context, changes)
    for move in moves:
        yield from _own(context, move)
        yield from _uplink(context, move)
        yield from _wanted(context, move, moves)
        yield from _leased(context, move)
        yield from _steps(context, move)
        yield from _way_out(context, move, moves)
        yield from _overlap(context, move, moves)
        yield from _named(context, move, moves, changes)


def shares(context: DeviceContext, changes: list[Change]) -> Iterator[str]:
    """Yield that an interface whose addresses change or go shares one that is not planned with another router."""
    expected = context.pair.expected.state.gateways
    planned = {text for gateway in expected.values() for text in gateway.shared_addresses}
    for change in changes:
        if change.setting.area != "gateways" or change.setting.field == "relay_to" or change.before is None:
            continue
        seen = context.pair.observed.gateways[change.key].shared_addresses
        wanted = expected[change.key].shared_addresses if change.key in expected else ()
        if len(seen) > len(wanted) and set(seen) - planned:
            yield say("shared unplanned", where=name_of(change.setting.item), shared=", ".join(seen))


def name_of(place: Setting) -> str:
    """Return what people call a layer-3 interface."""
    if place.area != "gateways":
        return place.key
    known = domain(place.key)
    return f"the interface of VLAN {known}" if isinstance(known, int) else known


def _listed(texts: Iterable[str]) -> str:
    given = {"dhcp": "a leased address", "pppoe": "a PPPoE session"}
    return ", ".join(given.get(text, text) for text in texts)


def _own(context: DeviceContext, move: Readdressing) -> Iterator[str]:
    """The device's own address goes or moves, or it is unknown which address is its own."""
    device, address = context.position.device, context.position.address
    if address is None:
        return
    stays, had = context.is_own(move.after), context.is_own(move.before)
    elsewhere = context.own_places - {move.place}
    if (had and not stays) or (stays and not had and elsewhere):
        where = move.place if had else min(elsewhere)
        yield say("own address", device=device, address=address, where=name_of(where))
    if move.gone and not move.come and not context.own_places:
        yield say("way in", device=device, address=address, gone=_listed(move.gone))
    if stays and networks_of(move.before) and not had and not _reaches(context, move):
        yield say("own network", device=device, address=address)


def _reaches(context: DeviceContext, move: Readdressing) -> bool:
    """Return whether a device keeps its way out with another own address: by its network or its next hop."""
    old, new = networks_of(move.before), networks_of(move.after)
    if any(one.supernet_of(other) or other.supernet_of(one) for one in old for other in new):
        return True
    hops = [host_of(way.hop) for way in context.ways_out]
    return any(hop in net for hop in hops if hop for net in new)


def _uplink(context: DeviceContext, move: Readdressing) -> Iterator[str]:
    """The carrier's default route goes with the lease or session, or routes go by way of a fixed address that goes."""
    if move.place.area != "uplinks" or len(move.fields) < 2:
        return
    if networks_of(move.after) or host_of(move.after[0]):
        yield say("uplink fixed", where=name_of(move.place))
        return
    line = context.naming(networks_of(move.gone), move.gone, context.reading.blocks_of(move.place))
    if line:
        yield say("uplink routes", line=line.place, gone=_listed(move.gone), where=name_of(move.place))


def _wanted(context: DeviceContext, move: Readdressing, moves: list[Readdressing]) -> Iterator[str]:
    """An address goes that is planned on another interface, which does not have it."""
    come = set(map(host_of, (text for other in moves for text in other.come)))
    for vid, gateway in context.pair.expected.state.gateways.items():
        place = Setting("gateways", str(vid))
        planned = set(map(host_of, (*gateway.addresses, *gateway.shared_addresses)))
        there = set(map(host_of, context.addressed.get(place, ())))
        missing = planned - there - come
        for text in move.gone:
            if place != move.place and host_of(text) in missing and host_of(text):
                yield say("wanted", gone=text, planned=name_of(place), where=name_of(move.place))


def carried_over(context: DeviceContext, changes: list[Change], commands: Iterable[str]) -> Iterator[str]:
    """Yield that commands set up an address anew that they take from another interface, without what belongs to it."""
    moves, entered = context.readdressings(changes), addresses_in("\n".join(commands))
    for one in moves:
        for other in moves:
            both = set(map(host_of, one.gone)) & set(map(host_of, other.come)) & entered
            if one.place != other.place and both - {None}:
                gone = next(text for text in one.gone if host_of(text) in both)
                yield say("wanted", gone=gone, planned=name_of(other.place), where=name_of(one.place))


def _leased(context: DeviceContext, move: Readdressing) -> Iterator[str]:
    """A lease goes, and with it perhaps the default route."""
    if move.place.area != "gateways" or "dhcp" not in move.gone:
        return
    hops = [host_of(way.hop) for way in context.ways_out]
    if not move.come:
        if not hops:
            yield say("last route", where=name_of(move.place))
    elif not any(hop in net for hop in hops if hop for net in networks_of(move.come)):
        yield say("lease", where=name_of(move.place))


def _steps(context: DeviceContext, move: Readdressing) -> Iterator[str]:
    """An address is taken away and another one entered, in force command by command."""
    rules = context.rules
    if not move.gone or not move.come or rules.candidate:
        return
    values = {"where": name_of(move.place), "gone": _listed(move.gone), "come": _listed(move.come)}
    if rules.removes_by_address and Setting("gateways", "", "shared_addresses") not in move.fields:
        yield say("by address", **values)
    elif len(move.before) > 1 or len(move.after) > 1 or not set(move.fields) <= set(rules.in_one_step):
        yield say("steps", **values)


def _way_out(context: DeviceContext, move: Readdressing, moves: list[Readdressing]) -> Iterator[str]:
    """The next hop of the default route is in a network that goes."""
    lost = networks_of(move.gone)
    left = _left(context, moves)
    for way in context.ways_out:
        address = host_of(way.hop)
        if address and any(address in net for net in lost) and not any(address in net for net in left):
            yield say("way out", hop=way.hop, where=name_of(move.place))


def _left(context: DeviceContext, moves: list[Readdressing]) -> set[IPv4Network]:
    """Return the networks that the device is in after some changes."""
    gone = {(move.place, text) for move in moves for text in move.gone}
    kept = [text for place, texts in context.addressed.items() for text in texts if (place, text) not in gone]
    return networks_of([*kept, *(text for move in moves for text in move.after)])


def _overlap(context: DeviceContext, move: Readdressing, moves: list[Readdressing]) -> Iterator[str]:
    """A new address is in a network that another interface of the device is in."""
    gone = {(other.place, text) for other in moves for text in other.gone}
    for text in move.come:
        new = networks_of([text])
        for place, texts in context.addressed.items():
            there = [other for other in texts if place != move.place and (place, other) not in gone]
            for other in there:
                if other not in move.before and any(net.overlaps(one) for net in networks_of([other]) for one in new):
                    yield say("overlap", come=text, other=other, elsewhere=name_of(place))


def _named(
    context: DeviceContext, move: Readdressing, moves: list[Readdressing], changes: list[Change]
) -> Iterator[str]:
    """An address goes for good, and other lines name its network: servers, routes, scopes."""
    if move.come or move.place.area != "gateways":
        return
    lost = networks_of(move.gone) - _left(context, moves)
    own = [block for change in changes for block in context.reading.blocks_of(change.setting.item)]
    line = context.naming(lost, move.gone, own) if lost else None
    if line:
        yield say("names network", line=line.place, gone=_listed(move.gone), where=name_of(move.place))


def moved_networks(context: DeviceContext) -> dict[Setting, set[IPv4Network]]:
    """Return the planned and observed networks of gateways that have an address in another network than planned."""
    found = {}
    expected, observed = context.pair.expected.state.gateways, context.pair.observed.gateways
    for vid in expected.keys() & observed.keys():
        planned, seen = networks_of(expected[vid].addresses), networks_of(observed[vid].addresses)
        if seen and planned != seen and Setting("gateways", str(vid), "addresses") in context.mismatches:
            found[Setting("gateways", str(vid))] = planned | seen
    return found
