"""Faults of a generated site: what somebody has set otherwise than planned, what is gone, what was not read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

from auditor.areas import Expected
from auditor.core.domains import numbers
from auditor.core.state import DeviceState, DhcpScope, Gateway, Port, Ssid, Vlan
from auditor.core.values import NO_VLANS, VlanSet
from auditor.plan.loader import Plan

Observed = dict[str, DeviceState | None]
STRAY_VLAN = 60
"""A VLAN that no plan has."""


@st.composite
def observed_after(draw: st.DrawFn, plan: Plan, expected: dict[str, Expected]) -> tuple[Observed, tuple[str, ...]]:
    """Draw up to eight faults; return what is observed of each device then, and the faults in words.

    In a third of the sites one device or two were not read.
    """
    site = _Faulty(draw, plan, expected)
    for _ in range(draw(st.sampled_from((1, 2, 3, 4, 5, 6, 8, 0)))):
        draw(st.sampled_from(FAULTS))(site)
    unread = {site.device() for _ in range(draw(st.sampled_from((0, 0, 0, 0, 1, 2))))}
    observed = {name: None if name in unread else state for name, state in site.states.items()}
    return observed, (*site.told, *(f"{name} not read" for name in sorted(unread)))


class _Faulty:
    """The states of a site's devices while faults are put in."""

    def __init__(self, draw: st.DrawFn, plan: Plan, expected: dict[str, Expected]) -> None:
        self.draw = draw
        self.states = {name: found.state for name, found in expected.items()}
        self.vlans = [*(subnet.vlan for subnet in plan.data.subnets.values()), 1, STRAY_VLAN]
        self.ends = [end.split(" ") for ends in plan.data.links for end in ends]
        self.links = [[end.split(" ") for end in ends] for ends in plan.data.links]
        self.told: list[str] = []

    def vlan(self) -> int:
        return self.draw(st.sampled_from(self.vlans))

    def device(self) -> str:
        return self.draw(st.sampled_from(list(self.states)))

    def item(self, area: str) -> tuple[str, Any] | None:
        """Draw a device and the key of an item of an area; none where no device has any."""
        keys = [(name, key) for name, state in self.states.items() for key in getattr(state, area)]
        return self.draw(st.sampled_from(keys)) if keys else None

    def port(self) -> tuple[str, str] | None:
        """Draw a port, ends of links more often than others."""
        ends = [(device, port) for device, port in self.ends if port in self.states[device].ports]
        of_link: bool = self.draw(st.booleans())
        if ends and of_link:
            return self.draw(st.sampled_from(ends))
        return self.item("ports")

    def put(self, device: str, area: str, key: Any, item: Any) -> None:
        """Set an item of a device, or take it away."""
        items = dict(getattr(self.states[device], area))
        items.pop(key, None)
        if item is not None:
            items[key] = item
        self.states[device] = self.states[device].model_copy(update={area: items})
        self.told.append(f"{device} {area} {key}: {item!r}")

    def change(self, device: str, area: str, key: Any, **fields: Any) -> None:
        self.put(device, area, key, getattr(self.states[device], area)[key].model_copy(update=fields))


Change = Callable[[_Faulty, Port], dict[str, Any]]


def _of_port(change: Change) -> Callable[[_Faulty], None]:
    """Return the fault that changes a port so."""

    def fault(site: _Faulty) -> None:
        place = site.port()
        if place is not None:
            device, name = place
            site.change(device, "ports", name, **change(site, site.states[device].ports[name]))

    return fault


def _drop_tagged(site: _Faulty, port: Port) -> dict[str, Any]:
    gone = site.draw(st.sampled_from(sorted(port.tagged))) if port.tagged else None
    return {"tagged": port.tagged.but(gone)}


def _add_tagged(site: _Faulty, port: Port) -> dict[str, Any]:
    """A port of another mode becomes a trunk by it."""
    return {"mode": "trunk", "tagged": VlanSet((port.tagged | {site.vlan()}) - numbers([port.untagged]))}


def _other_untagged(site: _Faulty, port: Port) -> dict[str, Any]:
    vlan = site.vlan()
    mode = "access" if port.mode == "routed" else port.mode
    voice = None if port.voice == vlan else port.voice
    return {"mode": mode, "untagged": vlan, "tagged": port.tagged.but(vlan), "voice": voice}


def _swapped_native(site: _Faulty, port: Port) -> dict[str, Any]:
    """A tagged VLAN changes places with the untagged one."""
    if not port.tagged:
        return {}
    native = site.draw(st.sampled_from(sorted(port.tagged)))
    return {"untagged": native, "tagged": VlanSet(port.tagged | numbers([port.untagged])).but(native)}


def _access(site: _Faulty, _: Port) -> dict[str, Any]:
    return {"mode": "access", "untagged": site.vlan(), "tagged": NO_VLANS, "voice": None}


def _switched_on(site: _Faulty, port: Port) -> dict[str, Any]:
    return {"enabled": True, **_access(site, port)}


def _routed(_: _Faulty, __: Port) -> dict[str, Any]:
    return {"mode": "routed", "untagged": None, "tagged": NO_VLANS, "voice": None}


def _one_way(site: _Faulty) -> None:
    """One end of a link sends a VLAN untagged that the other end sends tagged."""
    wide = [(d, p) for d, p in site.ends if p in site.states[d].ports and site.states[d].ports[p].tagged]
    if wide:
        device, name = site.draw(st.sampled_from(wide))
        port = site.states[device].ports[name]
        native = site.draw(st.sampled_from(sorted(port.tagged)))
        site.change(device, "ports", name, untagged=native, tagged=port.tagged.but(native))


def _other_native(site: _Faulty) -> None:
    """One end of a link takes untagged frames into another VLAN than the far end sends so."""
    if not site.links:
        return
    (device, name), (far, far_name) = site.draw(st.permutations(site.draw(st.sampled_from(site.links))))
    port, far_port = site.states[device].ports.get(name), site.states[far].ports.get(far_name)
    if port is None or far_port is None or not site.states[device].vlans or not site.states[far].vlans:
        return
    if far_port.untagged is None:
        vlan = site.draw(st.sampled_from(sorted(numbers(site.states[far].vlans))))
        site.change(far, "ports", far_name, untagged=vlan, tagged=far_port.tagged.but(vlan))
    vlan = site.draw(st.sampled_from(sorted(numbers(site.states[device].vlans))))
    site.change(device, "ports", name, untagged=vlan, tagged=port.tagged.but(vlan))


def _would_come_back(site: _Faulty) -> None:
    """One end sends a VLAN tagged; the far end takes it in, and would send it back untagged, into another VLAN."""
    if not site.links:
        return
    (device, name), (far, far_name) = site.draw(st.permutations(site.draw(st.sampled_from(site.links))))
    port = site.states[device].ports.get(name)
    if port is None or far_name not in site.states[far].ports or len(site.states[device].vlans) < 2:
        return
    vlan, native = site.draw(st.permutations(sorted(numbers(site.states[device].vlans))))[:2]
    tagged = VlanSet(port.tagged | {vlan}).but(native)
    site.change(device, "ports", name, mode="trunk", untagged=native, tagged=tagged)
    site.change(far, "ports", far_name, mode="trunk", untagged=vlan, tagged=tagged.but(vlan))


def _carried_too_far(site: _Faulty) -> None:
    """A VLAN is made on both devices of a link and let through it."""
    if not site.links:
        return
    vlan = site.vlan()
    for device, name in site.draw(st.sampled_from(site.links)):
        site.put(device, "vlans", vlan, Vlan())
        port = site.states[device].ports.get(name)
        if port is not None and port.untagged != vlan:
            site.change(device, "ports", name, mode="trunk", tagged=VlanSet(port.tagged | {vlan}))


def _port_gone(site: _Faulty) -> None:
    place = site.port()
    if place is not None:
        site.put(place[0], "ports", place[1], None)


def _unlisted_port(site: _Faulty) -> None:
    port = Port(mode="access", untagged=site.vlan())
    if site.draw(st.booleans()):
        port = Port(mode="trunk", tagged=VlanSet([site.vlan()]))
    site.put(site.device(), "ports", "unlisted", port)


def _vlan_missing(site: _Faulty) -> None:
    place = site.item("vlans")
    if place is not None:
        site.put(place[0], "vlans", place[1], None)


def _vlan_added(site: _Faulty) -> None:
    site.put(site.device(), "vlans", site.vlan(), Vlan())


def _ssid_elsewhere(site: _Faulty) -> None:
    place = site.item("ssids")
    if place is not None:
        site.change(*_in("ssids", place), vlan=site.vlan())


def _ssid_off(site: _Faulty) -> None:
    place = site.item("ssids")
    if place is not None:
        site.change(*_in("ssids", place), enabled=False)


def _ssid_gone(site: _Faulty) -> None:
    place = site.item("ssids")
    if place is not None:
        site.put(*_in("ssids", place), None)


def _ssid_unplanned(site: _Faulty) -> None:
    site.put(site.device(), "ssids", "Unplanned", Ssid(vlan=site.vlan()))


def _address_missing(site: _Faulty) -> None:
    place = site.item("gateways")
    if place is None:
        return
    gateway: Gateway = site.states[place[0]].gateways[place[1]]
    parts = [name for name in ("addresses", "shared_addresses", "relay_to") if getattr(gateway, name)]
    a_part_only: bool = site.draw(st.booleans())
    if parts and a_part_only:
        part = site.draw(st.sampled_from(parts))
        site.change(*_in("gateways", place), **{part: getattr(gateway, part)[1:]})
    else:
        site.put(*_in("gateways", place), None)


def _address_added(site: _Faulty) -> None:
    place = site.item("gateways")
    if place is not None:
        found: Gateway = site.states[place[0]].gateways[place[1]]
        site.change(*_in("gateways", place), addresses=(*found.addresses, "192.0.2.9/24"))


def _scope_missing(site: _Faulty) -> None:
    place = site.item("dhcp")
    if place is not None:
        other = DhcpScope(pools=("10.0.0.5-10.0.0.9",)) if site.draw(st.booleans()) else None
        site.put(*_in("dhcp", place), other)


def _in(area: str, place: tuple[str, Any]) -> tuple[str, str, Any]:
    return place[0], area, place[1]


FAULTS: list[Callable[[_Faulty], None]] = [
    _of_port(_drop_tagged),
    _of_port(_add_tagged),
    _of_port(_other_untagged),
    _of_port(_swapped_native),
    _of_port(_access),
    _of_port(_switched_on),
    _of_port(_routed),
    _of_port(lambda _, __: {"enabled": False}),
    _of_port(lambda _, __: {"mode": "dynamic"}),
    _of_port(lambda _, port: {"mode": "dynamic", "tagged": NO_VLANS, "untagged": port.untagged or 1}),
    *[_one_way, _other_native] * 3,
    *[_carried_too_far, _would_come_back] * 2,
    _port_gone,
    _unlisted_port,
    _vlan_missing,
    _vlan_added,
    _ssid_elsewhere,
    _ssid_off,
    _ssid_gone,
    _ssid_unplanned,
    _address_missing,
    _address_added,
    _scope_missing,
]
