"""What must be known of both sides before they can be compared: renamed ports, trunks that carry all, uplinks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from auditor.core.report import Doubt
from auditor.core.state import DeviceState, DhcpScope, Gateway, Port, Setting, Ssid, Uplink, Vlan
from auditor.core.values import NO_VLANS, VlanSet, interface_address
from auditor.plan.expected import Expected
from auditor.platforms.definition import Platform
from auditor.platforms.names import vlan_name
from auditor.reading import Reading
from auditor.redact import without_written

Item = TypeVar("Item", Port, Vlan, DhcpScope)


@dataclass(slots=True)
class Pair:
    """Both sides in a form in which what is equal means the same.

    Attributes:
        unverified: planned settings that the two sides together cannot tell, and why.
        carrier_vlans: VLANs on planned uplinks; they are the carrier's, not the plan's.
    """

    expected: Expected
    observed: DeviceState
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    carrier_vlans: VlanSet = NO_VLANS


def normalize(expected: Expected, reading: Reading, platform: Platform) -> Pair:
    """Return expected and observed state ready to be compared field by field."""
    pair = Pair(expected, with_voice_as_planned(reading.state, expected.state.ports, platform))
    _written(pair)
    _born_names(pair, reading)
    _ineffective(pair, reading)
    _offered_elsewhere(pair, reading)
    _silent_ports(pair, platform)
    _unlisted_ports(pair)
    _untagged_by_address(pair)
    _uplinks(pair)
    _trunks_that_carry_all(pair, platform, reading)
    _built_in_vlans(pair, platform, reading)
    _names_of_used_vlans(pair)
    _bands(pair)
    return pair


def _written(pair: Pair) -> None:
    """What is read is shown without the secrets that people write into descriptions; so is what is planned."""
    state = pair.expected.state
    ports = {name: _without_written(port, "description") for name, port in state.ports.items()}
    vlans = {vid: _without_written(vlan, "name") for vid, vlan in state.vlans.items()}
    dhcp = {prefix: _without_written(scope, "domain", "options") for prefix, scope in state.dhcp.items()}
    if (ports, vlans, dhcp) != (state.ports, state.vlans, state.dhcp):
        _expect(pair, ports=ports, vlans=vlans, dhcp=dhcp)


def _without_written(item: Item, *fields: str) -> Item:
    update: dict[str, Any] = {}
    for name in fields:
        value = getattr(item, name)
        if isinstance(value, dict):
            update[name] = {key: without_written(text) for key, text in value.items()}
        elif value:
            update[name] = without_written(value)
    return (
        item if all(getattr(item, name) == value for name, value in update.items()) else item.model_copy(update=update)
    )


def _set_ports(pair: Pair, ports: dict[str, Port]) -> None:
    pair.observed = pair.observed.model_copy(update={"ports": ports})


def _expect(pair: Pair, **areas: object) -> None:
    pair.expected = replace(pair.expected, state=pair.expected.state.model_copy(update=areas))


def _born_names(pair: Pair, reading: Reading) -> None:
    """A plan may call a renamed port by the name that it was born with."""
    planned = {*pair.expected.state.ports, *pair.expected.ignored_ports}
    renamed = {now: born for born, now in reading.born_as.items() if born in planned and now not in planned}
    if renamed:
        ports = {renamed.get(name, name): port for name, port in pair.observed.ports.items()}
        uplinks = {renamed.get(name, name): uplink for name, uplink in pair.observed.uplinks.items()}
        pair.observed = pair.observed.model_copy(update={"ports": ports, "uplinks": uplinks})


def _ineffective(pair: Pair, reading: Reading) -> None:
    """A port that leads nowhere is as good as off; a gateway that does so, or does not route, is as good as none."""
    observed = pair.observed
    off = {name for name in observed.ports if Setting("ports", name) in reading.ineffective}
    ports = {**observed.ports, **{name: observed.ports[name].model_copy(update={"enabled": False}) for name in off}}
    useless = {vid for vid in observed.gateways if Setting("gateways", str(vid)) in reading.ineffective}
    if not reading.routing:
        useless |= pair.expected.routed
    gateways = {vid: gateway for vid, gateway in observed.gateways.items() if vid not in useless}
    if off or useless:
        pair.observed = observed.model_copy(update={"ports": ports, "gateways": gateways})


def _offered_elsewhere(pair: Pair, reading: Reading) -> None:
    """A planned way in is not there if it is open only in a VRF that the device's planned address is not in."""
    if pair.expected.address is None:
        return
    there = reading.offered_at(pair.expected.address)
    wanted, found = pair.expected.state.management, pair.observed.management
    logins = tuple(way for way in found.logins or () if way in there or way not in (wanted.logins or ()))
    snmp = found.snmp and ("snmp" in there or not wanted.snmp)
    if (logins, snmp) != (found.logins, found.snmp):
        management = found.model_copy(update={"logins": logins, "snmp": snmp})
        pair.observed = pair.observed.model_copy(update={"management": management})


def _silent_ports(pair: Pair, platform: Platform) -> None:
    """A dialect may leave out a port that nobody has touched: it is there, on, and as ports come."""
    if not platform.interfaces.silent:
        return
    switched = platform.interfaces.default_mode == "access" and platform.vlans.port_vlan.isdecimal()
    bare = Port(untagged=int(platform.vlans.port_vlan)) if switched else Port(mode="routed")
    silent = {name: bare for name in pair.expected.state.ports if name not in pair.observed.ports}
    if silent:
        _set_ports(pair, {**pair.observed.ports, **silent})


def with_voice_as_planned(observed: DeviceState, planned: dict[str, Port], platform: Platform) -> DeviceState:
    """Return what was observed with voice VLANs as tagged ones on ports that are planned as trunks.

    Where a voice VLAN is a tagged one with a mark, such a port is both.
    """
    if not platform.vlans.voice_tagged:
        return observed
    trunks = {
        name: port.model_copy(update={"mode": "trunk", "tagged": VlanSet([port.voice]), "voice": None})
        for name, port in observed.ports.items()
        if port.mode == "access" and port.voice and name in planned and planned[name].mode == "trunk"
    }
    return observed.model_copy(update={"ports": {**observed.ports, **trunks}}) if trunks else observed


def _unlisted_ports(pair: Pair) -> None:
    """Ports that the plan does not list are judged by its rule for them."""
    expected, rule = pair.expected, pair.expected.unlisted
    known = {*expected.state.ports, *expected.ignored_ports}
    unlisted = [name for name in pair.observed.ports if name not in known]
    if rule is None or not unlisted:
        return
    unsaid = {Setting("ports", name, "description") for name in unlisted}
    if not rule.enabled:
        open_fields = ("mode", "untagged", "tagged", "voice")
        unsaid |= {Setting("ports", name, part) for name in unlisted for part in open_fields}
    _expect(pair, ports={**expected.state.ports, **dict.fromkeys(unlisted, rule)})
    pair.expected = replace(pair.expected, unsaid=expected.unsaid | unsaid)


def _untagged_by_address(pair: Pair) -> None:
    """A port with an address of its own is the untagged VLAN's layer-3 interface, which no number says on a router.

    Which VLAN that is, the plan's prefix tells; where the plan has another VLAN untagged there, nothing is assumed.
    """
    observed, expected = pair.observed, pair.expected.state
    ports, gateways, uplinks = dict(observed.ports), dict(observed.gateways), dict(observed.uplinks)
    for name, wanted in expected.ports.items():
        port, uplink, vid = ports.get(name), uplinks.get(name), wanted.untagged
        if port is None or port.untagged or uplink is None or not uplink.address or vid not in expected.gateways:
            continue
        planned = [interface_address(a).network for a in expected.gateways[vid].addresses if "/" in a]
        if vid in gateways or vid in port.tagged or interface_address(uplink.address).network not in planned:
            continue
        mode = "trunk" if port.tagged else "access"
        ports[name] = port.model_copy(update={"mode": mode, "untagged": vid})
        gateways[vid] = Gateway(addresses=(uplink.address,))
        del uplinks[name]
    if len(uplinks) < len(observed.uplinks):
        vlans = {**{vid: Vlan() for vid in gateways if vid not in observed.gateways}, **observed.vlans}
        update = {"ports": ports, "gateways": gateways, "uplinks": uplinks, "vlans": vlans}
        pair.observed = observed.model_copy(update=update)


def _uplinks(pair: Pair) -> None:
    """An uplink in a VLAN of the carrier makes its port a trunk; an address without length is compared without."""
    observed = pair.observed
    if not observed.uplinks:
        return
    uplinks, ports = dict(observed.uplinks), dict(observed.ports)
    carrier: set[int] = set()
    for name in pair.expected.uplinks:
        found, wanted = uplinks.get(name), pair.expected.state.uplinks[name]
        if found is None:
            continue
        if wanted.address and "/" not in wanted.address and found.address:
            uplinks[name] = Uplink(method=found.method, address=found.address.partition("/")[0])
        port = ports.get(name)
        if port is not None and port.mode == "trunk":
            carrier |= port.tagged
            ports[name] = port.model_copy(update={"mode": "routed"})
    others = {vid for name, port in ports.items() if name not in pair.expected.uplinks for vid in port.tagged} | set(
        pair.expected.state.vlans
    )
    pair.carrier_vlans = VlanSet(carrier - others)
    kept = {name: uplink for name, uplink in uplinks.items() if name in pair.expected.uplinks}
    pair.observed = observed.model_copy(update={"uplinks": kept, "ports": ports})


def _trunks_that_carry_all(pair: Pair, platform: Platform, reading: Reading) -> None:
    """``trunk: all`` conforms where the port carries every planned VLAN and, beyond them, none that exists."""
    if not pair.expected.carries_all:
        return
    exists = VlanSet(set(pair.observed.vlans) - platform.vlans.built_in)
    ports = dict(pair.observed.ports)
    for name in pair.expected.carries_all:
        port, wanted = ports.get(name), pair.expected.state.ports[name]
        if port is None or port.mode != "trunk":
            continue
        beyond = port.tagged - wanted.tagged
        tagged = VlanSet((port.tagged & wanted.tagged) | (beyond & exists))
        if beyond and Setting("vlans") in reading.not_shown:
            setting = Setting("ports", name, "tagged")
            pair.unverified[setting] = Doubt(
                "not-saved",
                "the port allows VLANs beyond the plan, and this capture does not show which of them exist; "
                f"save beside it: {reading.not_shown[Setting('vlans')]}",
            )
        untagged = port.untagged
        gone = untagged not in pair.observed.vlans and Setting("vlans") not in reading.not_shown
        if untagged not in pair.expected.state.vlans and (gone or untagged in platform.vlans.built_in):
            untagged = None
        ports[name] = port.model_copy(update={"tagged": tagged, "untagged": untagged})
    _set_ports(pair, ports)


def _built_in_vlans(pair: Pair, platform: Platform, reading: Reading) -> None:
    """A VLAN that is built in is there though no line makes it, and a plan that uses it does not rename it.

    What is in it, ports and gateways tell. Where VLANs are there by being used, so is the one of untagged frames, which
    no line numbers.
    """
    observed, wanted, table = pair.observed, pair.expected.state.vlans, platform.vlans
    used = {*observed.gateways, *(port.untagged for port in observed.ports.values())} if table.by_use else set()
    there = (table.built_in - reading.vlans_off) | used
    silent = {vid: Vlan(name=vlan_name(table, vid)) for vid in wanted if vid in there and vid not in observed.vlans}
    if silent:
        pair.observed = observed.model_copy(update={"vlans": {**observed.vlans, **silent}})
    vlans = pair.observed.vlans
    unnamed = {vid for vid, name in table.built_in_names.items() if vid in vlans and vlans[vid].name == name}
    unsaid = {Setting("vlans", str(vid), "name") for vid in unnamed & set(wanted)}
    pair.expected = replace(pair.expected, unsaid=pair.expected.unsaid | unsaid)


def _names_of_used_vlans(pair: Pair) -> None:
    """A VLAN that is there only by being used has no name on that device, so none is expected."""
    wanted = pair.expected.state.vlans
    nameless = {vid for vid, vlan in pair.observed.vlans.items() if vlan.name is None and vid in wanted}
    if any(wanted[vid].name for vid in nameless):
        _expect(pair, vlans={vid: Vlan() if vid in nameless else vlan for vid, vlan in wanted.items()})


def _bands(pair: Pair) -> None:
    """Where the bands are planned and right, a radio that is off and not planned is no nonconformity."""
    ssids: dict[str, Ssid] = dict(pair.observed.ssids)
    for name, wanted in pair.expected.state.ssids.items():
        found = ssids.get(name)
        if found and wanted.bands is not None and found.bands == wanted.bands and found.enabled not in (True, False):
            ssids[name] = found.model_copy(update={"enabled": True})
    pair.observed = pair.observed.model_copy(update={"ssids": ssids})
