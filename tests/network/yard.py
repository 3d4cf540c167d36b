"""A site small enough to be followed with a finger, as planned, and with one thing or another changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from auditor.areas import expected_of
from auditor.core.state import DeviceState
from auditor.core.values import VlanSet
from auditor.plan.loader import parse
from tests.network import flood
from tests.network.flood import Network, Node, Service, Verdict
from tests.network.site import Site

STAFF, GUEST = 10, 20
UP, DOWN, SIDE = "GigabitEthernet1/0/1", "GigabitEthernet1/0/2", "GigabitEthernet1/0/3"
STAFF_PORT, GUEST_PORT = "GigabitEthernet1/0/4", "GigabitEthernet1/0/5"
PLAN = """format: 1
site: Cooper's Yard
defaults: {gateway: gw1, unlisted_ports: disabled}
subnets:
  staff: {vlan: 10, prefix: 10.0.10.0/24, dhcp: {pool: 10.0.10.50-10.0.10.99}}
  guest: {vlan: 20, prefix: 10.0.20.0/24, dhcp: {relay: [192.0.2.67]}}
wifi:
  Yard: {subnet: guest, security: open, on: [ap1]}
devices:
  gw1: {role: gateway, platform: mikrotik_routeros, ports: {ether1: {trunk: [staff, guest]}, ether2: {uplink: dhcp}}}
  sw1:
    role: access
    platform: cisco_ios
    ports:
      GigabitEthernet1/0/1-2: {trunk: [staff, guest]}
      GigabitEthernet1/0/3: {trunk: [staff]}
      GigabitEthernet1/0/4: {access: staff}
      GigabitEthernet1/0/5: {access: guest}
      GigabitEthernet1/0/6: {ignore: true}
  sw2:
    role: access
    platform: cisco_ios
    address: 10.0.10.3
    ports:
      GigabitEthernet1/0/1-2: {trunk: [staff, guest]}
      GigabitEthernet1/0/4: {access: staff}
      GigabitEthernet1/0/5: {access: guest}
  sw3:
    role: access
    platform: cisco_ios
    ports: {GigabitEthernet1/0/1: {trunk: [staff]}, GigabitEthernet1/0/4: {access: staff}}
  ap1: {role: ap, platform: openwrt, ports: {lan1: {trunk: [guest]}}}
links:
  - [gw1 ether1, sw1 GigabitEthernet1/0/1]
  - [sw1 GigabitEthernet1/0/2, sw2 GigabitEthernet1/0/1]
  - [sw1 GigabitEthernet1/0/3, sw3 GigabitEthernet1/0/1]
  - [sw2 GigabitEthernet1/0/2, ap1 lan1]
"""
"""gw1 - sw1 - sw2 - ap1, and sw3, which has staff only, beside sw2."""

ALL_REACHED = Verdict("reached", "reached", "reached", "reached")
NO_WAY = Verdict("broken", "broken", "broken", "broken")
UNKNOWN = Verdict("unverified", "unverified", "unverified", "unverified")
YARD = Service("wifi", "ap1", "Yard", "guest")
SW2_ITSELF = Service("device", "sw2", "", "staff")


def staff_at(device: str) -> Service:
    return Service("port", device, STAFF_PORT, "staff")


def guest_at(device: str) -> Service:
    return Service("port", device, GUEST_PORT, "guest")


STAFF_SERVICES = {staff_at("sw1"), staff_at("sw2"), staff_at("sw3"), SW2_ITSELF}
GUEST_SERVICES = {guest_at("sw1"), guest_at("sw2"), YARD}


def as_planned(text: str = PLAN) -> Site:
    plan = parse("plan.yaml", text.encode())
    expected = expected_of(plan)
    return Site(plan, expected, {name: found.state for name, found in expected.items()})


def state_of(site: Site, device: str) -> DeviceState:
    state = site.observed[device]
    assert state is not None
    return state


def having(site: Site, device: str, area: str, key: Any, item: Any) -> Site:
    """Return the site with an item of a device set, or taken away."""
    items = {name: found for name, found in getattr(state_of(site, device), area).items() if name != key}
    if item is not None:
        items[key] = item
    state = state_of(site, device).model_copy(update={area: items})
    return replace(site, observed={**site.observed, device: state})


def port_set(site: Site, device: str, port: str, **fields: Any) -> Site:
    return having(site, device, "ports", port, state_of(site, device).ports[port].model_copy(update=fields))


def unread(site: Site, device: str) -> Site:
    return replace(site, observed={**site.observed, device: None})


def trunk(native: int | None, *tagged: int) -> dict[str, Any]:
    return {"mode": "trunk", "untagged": native, "tagged": VlanSet(tagged)}


def not_reached(site: Site) -> dict[Service, Verdict]:
    return {service: verdict for service, verdict in flood.verdicts(site).items() if verdict != ALL_REACHED}


def flooded(site: Site, device: str, vlan: int) -> set[tuple[str, int]]:
    return set(Network(site.read, site.cables).flood([Node(device, vlan)]))
