"""What must be known of both sides before ports can be compared: names, unlisted ports, trunks of all VLANs."""

from __future__ import annotations

import re

from auditor.areas.pair import Pair, shown
from auditor.areas.ports.planned import OF_ANY
from auditor.areas.reading import Reading
from auditor.core.domains import numbers
from auditor.core.report import Doubt
from auditor.core.state import DeviceState, Port, Setting
from auditor.core.values import VlanSet
from auditor.platforms.names import names_of

_NUMBERED = re.compile(r"([A-Za-z-]+)((?:\d+/)+)(\d{1,2})")
"""The name of a port: what sort it is, where it is, and its number there, which ports of all sorts share."""


def align(pair: Pair) -> None:
    """Bring both sides into one form."""
    pair.observed = with_voice_as_planned(pair.reading, pair.expected.state.ports)
    pair.expect(ports={name: shown(port, "description") for name, port in pair.expected.state.ports.items()})
    _born_names(pair)
    _ineffective(pair)
    _silent(pair)
    _left_out(pair)
    _unlisted(pair)
    _native_unsaid(pair)


def with_voice_as_planned(reading: Reading, planned: dict[str, Port]) -> DeviceState:
    """Return what was observed with voice VLANs as tagged ones on ports that are planned as trunks.

    Where a voice VLAN is a tagged one with a mark, such a port is both.
    """
    observed = reading.state
    if not reading.voice_marked:
        return observed
    trunks = {
        name: port.model_copy(update={"mode": "trunk", "tagged": VlanSet([port.voice]), "voice": None})
        for name, port in observed.ports.items()
        if port.mode == "access" and port.voice and name in planned and planned[name].mode == "trunk"
    }
    return observed.model_copy(update={"ports": {**observed.ports, **trunks}}) if trunks else observed


def _born_names(pair: Pair) -> None:
    """A plan may call a renamed port by the name that it was born with; its uplink is called like the port."""
    planned = {*pair.expected.state.ports, *pair.expected.ignored_ports}
    renamed = {now: born for born, now in pair.reading.born_as.items() if born in planned and now not in planned}
    if renamed:
        ports = {renamed.get(name, name): port for name, port in pair.observed.ports.items()}
        uplinks = {renamed.get(name, name): uplink for name, uplink in pair.observed.uplinks.items()}
        pair.observe(ports=ports, uplinks=uplinks)
        pair.leads = {renamed.get(name, name): tags for name, tags in pair.leads.items()}


def _ineffective(pair: Pair) -> None:
    """A port that carries nothing counts as off."""
    ports = pair.observed.ports
    off = {name for name in ports if Setting("ports", name) in pair.reading.ineffective}
    if off:
        pair.observe(ports={**ports, **{name: ports[name].model_copy(update={"enabled": False}) for name in off}})


def _silent(pair: Pair) -> None:
    """A dialect may leave out a port at its defaults: it exists, is on, and has the default VLAN."""
    platform = pair.platform
    if not platform.interfaces.silent:
        return
    bare = Port(untagged=1) if platform.bridging.untouched == "access" else Port(mode="routed")
    silent = {name: bare for name in pair.expected.state.ports if name not in pair.observed.ports}
    if silent:
        pair.observe(ports={**pair.observed.ports, **silent})


def _left_out(pair: Pair) -> None:
    """A port that is off unless a line switches it on, and of which no line says anything, is off as planned."""
    found = pair.platform.defaults.get("interface", ())
    if any(each.when is None and each.where == {"kind": "port"} and each.values.get("disabled") for each in found):
        planned = pair.expected.state.ports.items()
        off = Port(mode="routed", enabled=False)
        left_out = {name: off for name, port in planned if not port.enabled and name not in pair.observed.ports}
        if left_out:
            pair.observe(ports={**pair.observed.ports, **left_out})


def _unlisted(pair: Pair) -> None:
    """Ports that the plan does not list are judged by its rule for them; what is in a planned bundle is planned."""
    expected, rule = pair.expected, pair.expected.unlisted
    known = {*expected.state.ports, *expected.ignored_ports}
    bundles = pair.reading.bundles
    if rule is not None and pair.platform.interfaces.every:
        _between(pair, rule, known | bundles.keys())
        expected = pair.expected
    known |= pair.reading.behind_what_is_off - pair.expected.state.ports.keys()
    unlisted = [name for name in pair.observed.ports if name not in known and bundles.get(name) not in known]
    if rule and rule.enabled:
        book = names_of(pair.platform.name)
        unlisted = [name for name in unlisted if not book.is_apart(name)]
    if rule is None or not unlisted:
        return
    unsaid = [Setting("ports", name, said) for name in unlisted for said in OF_ANY]
    if not rule.enabled:
        open_fields = ("mode", "untagged", "tagged", "voice")
        unsaid += [Setting("ports", name, part) for name in unlisted for part in open_fields]
    pair.expect(ports={**expected.state.ports, **dict.fromkeys(unlisted, rule)})
    pair.leave_open(*unsaid)


def _between(pair: Pair, rule: Port, known: set[str]) -> None:
    """Where each port has lines, one whose number is left out between others is there, and nobody knows how."""
    listed = {
        (m[2], int(m[3])): m[1] for name in pair.observed.ports.keys() | known if (m := _NUMBERED.fullmatch(name))
    }
    left_out: list[str] = []
    for place, last in sorted(listed):
        number = last - 1
        while number and (place, number) not in listed:
            listed[place, number] = listed[place, last]
            left_out.append(f"{listed[place, last]}{place}{number}")
            number -= 1
    if left_out:
        pair.observe(ports={**pair.observed.ports, **dict.fromkeys(left_out, rule)})
        doubt = Doubt("not-saved", "no line says how this port is set; save the whole configuration")
        pair.unverified.update((Setting("ports", name, "enabled"), doubt) for name in left_out)


def _native_unsaid(pair: Pair) -> None:
    """Where trunks begin in VLAN 1 and the plan has nothing there, one that is still in it has no native VLAN."""
    platform, expected = pair.platform, pair.expected.state
    begins_in = platform.vlans.built_in.keys() - expected.vlans.keys() if platform.bridging.trunks_add else ()
    ports = {
        name: port.model_copy(update={"untagged": None})
        for name, port in pair.observed.ports.items()
        if port.untagged in begins_in
        and name in expected.ports
        and (expected.ports[name].mode, expected.ports[name].untagged) == ("trunk", None)
    }
    if ports:
        pair.observe(ports={**pair.observed.ports, **ports})


def trunks_that_carry_all(pair: Pair) -> None:
    """``trunk: all`` conforms where the port carries every planned VLAN and, beyond them, none that exists."""
    if not pair.expected.carries_all:
        return
    built_in, vlans_not_shown = pair.platform.vlans.built_in, pair.reading.not_shown.get(Setting("vlans"))
    exists = VlanSet(numbers(pair.observed.vlans) - built_in.keys())
    ports = dict(pair.observed.ports)
    for name in pair.expected.carries_all:
        port, wanted = ports.get(name), pair.expected.state.ports[name]
        if port is None or port.mode != "trunk":
            continue
        beyond = port.tagged - wanted.tagged
        tagged = VlanSet((port.tagged & wanted.tagged) | (beyond & exists))
        if beyond and vlans_not_shown is not None:
            pair.unverified[Setting("ports", name, "tagged")] = Doubt(
                "not-saved",
                "the port allows VLANs beyond the plan, and this capture does not show which of them exist; "
                f"{vlans_not_shown}",
            )
        untagged = port.untagged
        gone = untagged not in pair.observed.vlans and vlans_not_shown is None
        of_itself = untagged in built_in or isinstance(untagged, str)
        if untagged not in pair.expected.state.vlans and (gone or of_itself):
            untagged = None
        ports[name] = port.model_copy(update={"tagged": tagged, "untagged": untagged})
    pair.observe(ports=ports)
