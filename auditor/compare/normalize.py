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
class Fitted:
    """Both sides in a form in which what is equal means the same.

    Attributes:
        unverified: planned settings that the two sides together cannot tell, and why.
        carrier_vlans: VLANs on planned uplinks; they are the carrier's, not the plan's.
    """

    expected: Expected
    observed: DeviceState
    unverified: dict[Setting, Doubt] = field(default_factory=dict)
    carrier_vlans: VlanSet = NO_VLANS


def fit(expected: Expected, reading: Reading, platform: Platform) -> Fitted:
    """Return expected and observed state ready to be compared field by field."""
    fitted = Fitted(expected, with_voice_as_planned(reading.state, expected.state.ports, platform))
    _written(fitted)
    _born_names(fitted, reading)
    _idle(fitted, reading)
    _offered_elsewhere(fitted, reading)
    _silent_ports(fitted, platform)
    _unlisted_ports(fitted)
    _untagged_by_address(fitted)
    _uplinks(fitted)
    _trunks_that_carry_all(fitted, platform, reading)
    _built_in_vlans(fitted, platform, reading)
    _names_of_used_vlans(fitted)
    _bands(fitted)
    return fitted


def _written(fitted: Fitted) -> None:
    """What is read is shown without the secrets that people write into descriptions; so is what is planned."""
    state = fitted.expected.state
    ports = {name: _without_written(port, "description") for name, port in state.ports.items()}
    vlans = {vid: _without_written(vlan, "name") for vid, vlan in state.vlans.items()}
    dhcp = {prefix: _without_written(scope, "domain", "options") for prefix, scope in state.dhcp.items()}
    if (ports, vlans, dhcp) != (state.ports, state.vlans, state.dhcp):
        _expect(fitted, ports=ports, vlans=vlans, dhcp=dhcp)


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


def _set_ports(fitted: Fitted, ports: dict[str, Port]) -> None:
    fitted.observed = fitted.observed.model_copy(update={"ports": ports})


def _expect(fitted: Fitted, **areas: object) -> None:
    fitted.expected = replace(fitted.expected, state=fitted.expected.state.model_copy(update=areas))


def _born_names(fitted: Fitted, reading: Reading) -> None:
    """A plan may call a renamed port by the name that it was born with."""
    planned = {*fitted.expected.state.ports, *fitted.expected.ignored_ports}
    renamed = {now: born for born, now in reading.born_as.items() if born in planned and now not in planned}
    if renamed:
        ports = {renamed.get(name, name): port for name, port in fitted.observed.ports.items()}
        uplinks = {renamed.get(name, name): uplink for name, uplink in fitted.observed.uplinks.items()}
        fitted.observed = fitted.observed.model_copy(update={"ports": ports, "uplinks": uplinks})


def _idle(fitted: Fitted, reading: Reading) -> None:
    """A port that leads nowhere is as good as off; a gateway that does so, or does not route, is as good as none."""
    observed = fitted.observed
    off = {name for name in observed.ports if Setting("ports", name) in reading.idle}
    ports = {**observed.ports, **{name: observed.ports[name].model_copy(update={"enabled": False}) for name in off}}
    useless = {vid for vid in observed.gateways if Setting("gateways", str(vid)) in reading.idle}
    if not reading.routing:
        useless |= fitted.expected.routed
    gateways = {vid: gateway for vid, gateway in observed.gateways.items() if vid not in useless}
    if off or useless:
        fitted.observed = observed.model_copy(update={"ports": ports, "gateways": gateways})


def _offered_elsewhere(fitted: Fitted, reading: Reading) -> None:
    """A planned way in is not there if it is open only in a VRF that the device's planned address is not in."""
    if fitted.expected.address is None:
        return
    there = reading.offered_at(fitted.expected.address)
    wanted, found = fitted.expected.state.management, fitted.observed.management
    logins = tuple(way for way in found.logins or () if way in there or way not in (wanted.logins or ()))
    snmp = found.snmp and ("snmp" in there or not wanted.snmp)
    if (logins, snmp) != (found.logins, found.snmp):
        management = found.model_copy(update={"logins": logins, "snmp": snmp})
        fitted.observed = fitted.observed.model_copy(update={"management": management})


def _silent_ports(fitted: Fitted, platform: Platform) -> None:
    """A dialect may leave out a port that nobody has touched: it is there, on, and as ports come."""
    if not platform.interfaces.silent:
        return
    switched = platform.interfaces.default_mode == "access" and platform.vlans.port_vlan.isdecimal()
    bare = Port(untagged=int(platform.vlans.port_vlan)) if switched else Port(mode="routed")
    silent = {name: bare for name in fitted.expected.state.ports if name not in fitted.observed.ports}
    if silent:
        _set_ports(fitted, {**fitted.observed.ports, **silent})


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


def _unlisted_ports(fitted: Fitted) -> None:
    """Ports that the plan does not list are judged by its rule for them."""
    expected, rule = fitted.expected, fitted.expected.unlisted
    known = {*expected.state.ports, *expected.ignored_ports}
    unlisted = [name for name in fitted.observed.ports if name not in known]
    if rule is None or not unlisted:
        return
    unsaid = {Setting("ports", name, "description") for name in unlisted}
    if not rule.enabled:
        open_fields = ("mode", "untagged", "tagged", "voice")
        unsaid |= {Setting("ports", name, part) for name in unlisted for part in open_fields}
    _expect(fitted, ports={**expected.state.ports, **dict.fromkeys(unlisted, rule)})
    fitted.expected = replace(fitted.expected, unsaid=expected.unsaid | unsaid)


def _untagged_by_address(fitted: Fitted) -> None:
    """A port with an address of its own is the untagged VLAN's layer-3 interface, which no number says on a router.

    Which VLAN that is, the plan's prefix tells; where the plan has another VLAN untagged there, nothing is assumed.
    """
    observed, expected = fitted.observed, fitted.expected.state
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
        fitted.observed = observed.model_copy(update=update)


def _uplinks(fitted: Fitted) -> None:
    """An uplink in a VLAN of the carrier makes its port a trunk; an address without length is compared without."""
    observed = fitted.observed
    if not observed.uplinks:
        return
    uplinks, ports = dict(observed.uplinks), dict(observed.ports)
    carrier: set[int] = set()
    for name in fitted.expected.uplinks:
        found, wanted = uplinks.get(name), fitted.expected.state.uplinks[name]
        if found is None:
            continue
        if wanted.address and "/" not in wanted.address and found.address:
            uplinks[name] = Uplink(method=found.method, address=found.address.partition("/")[0])
        port = ports.get(name)
        if port is not None and port.mode == "trunk":
            carrier |= port.tagged
            ports[name] = port.model_copy(update={"mode": "routed"})
    others = {vid for name, port in ports.items() if name not in fitted.expected.uplinks for vid in port.tagged} | set(
        fitted.expected.state.vlans
    )
    fitted.carrier_vlans = VlanSet(carrier - others)
    kept = {name: uplink for name, uplink in uplinks.items() if name in fitted.expected.uplinks}
    fitted.observed = observed.model_copy(update={"uplinks": kept, "ports": ports})


def _trunks_that_carry_all(fitted: Fitted, platform: Platform, reading: Reading) -> None:
    """``trunk: all`` conforms where the port carries every planned VLAN and, beyond them, none that exists."""
    if not fitted.expected.carries_all:
        return
    exists = VlanSet(set(fitted.observed.vlans) - platform.vlans.built_in)
    ports = dict(fitted.observed.ports)
    for name in fitted.expected.carries_all:
        port, wanted = ports.get(name), fitted.expected.state.ports[name]
        if port is None or port.mode != "trunk":
            continue
        beyond = port.tagged - wanted.tagged
        tagged = VlanSet((port.tagged & wanted.tagged) | (beyond & exists))
        if beyond and Setting("vlans") in reading.not_shown:
            setting = Setting("ports", name, "tagged")
            fitted.unverified[setting] = Doubt(
                "not-saved",
                "the port allows VLANs beyond the plan, and this capture does not show which of them exist; "
                f"save beside it: {reading.not_shown[Setting('vlans')]}",
            )
        untagged = port.untagged
        gone = untagged not in fitted.observed.vlans and Setting("vlans") not in reading.not_shown
        if untagged not in fitted.expected.state.vlans and (gone or untagged in platform.vlans.built_in):
            untagged = None
        ports[name] = port.model_copy(update={"tagged": tagged, "untagged": untagged})
    _set_ports(fitted, ports)


def _built_in_vlans(fitted: Fitted, platform: Platform, reading: Reading) -> None:
    """A VLAN that is built in is there though no line makes it, and a plan that uses it does not rename it.

    What is in it, ports and gateways tell. Where VLANs are there by being used, so is the one of untagged frames, which
    no line numbers.
    """
    observed, wanted, table = fitted.observed, fitted.expected.state.vlans, platform.vlans
    used = {*observed.gateways, *(port.untagged for port in observed.ports.values())} if table.by_use else set()
    there = (table.built_in - reading.vlans_off) | used
    silent = {vid: Vlan(name=vlan_name(table, vid)) for vid in wanted if vid in there and vid not in observed.vlans}
    if silent:
        fitted.observed = observed.model_copy(update={"vlans": {**observed.vlans, **silent}})
    vlans = fitted.observed.vlans
    unnamed = {vid for vid, name in table.built_in_names.items() if vid in vlans and vlans[vid].name == name}
    unsaid = {Setting("vlans", str(vid), "name") for vid in unnamed & set(wanted)}
    fitted.expected = replace(fitted.expected, unsaid=fitted.expected.unsaid | unsaid)


def _names_of_used_vlans(fitted: Fitted) -> None:
    """A VLAN that is there only by being used has no name on that device, so none is expected."""
    wanted = fitted.expected.state.vlans
    nameless = {vid for vid, vlan in fitted.observed.vlans.items() if vlan.name is None and vid in wanted}
    if any(wanted[vid].name for vid in nameless):
        _expect(fitted, vlans={vid: Vlan() if vid in nameless else vlan for vid, vlan in wanted.items()})


def _bands(fitted: Fitted) -> None:
    """Where the bands are planned and right, a radio that is off and not planned is no nonconformity."""
    ssids: dict[str, Ssid] = dict(fitted.observed.ssids)
    for name, wanted in fitted.expected.state.ssids.items():
        found = ssids.get(name)
        if found and wanted.bands is not None and found.bands == wanted.bands and found.enabled not in (True, False):
            ssids[name] = found.model_copy(update={"enabled": True})
    fitted.observed = fitted.observed.model_copy(update={"ssids": ssids})
