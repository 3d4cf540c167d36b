"""A plan with every key that a plan file may have, of a made-up bakery, and what its devices must be set to."""

from __future__ import annotations

from auditor.core.state import DeviceState, DhcpScope, Gateway, Management, Port, Ssid, Uplink, Vlan
from auditor.core.values import VlanSet

PLAN = """format: 1
site: Mill Lane Bakery
reference: MLB-01
reserved:                                   # prefixes that no subnet may touch
  - {prefix: 192.168.1.0/24, why: the carrier's modem hands out addresses here}
defaults:
  gateway: gw1
  dns: [10.20.99.1]
  domain: mill.example
  lease: 12h
  unlisted_ports: ignore
subnets:
  shop:       {vlan: 10, prefix: 10.20.10.0/24, terminals: 60, dhcp: {pool: 10.20.10.50-10.20.10.199}}
  ovens:      {vlan: 20, prefix: 10.20.20.0/24, dhcp: none}
  guest:      {vlan: 40, prefix: 10.20.40.0/24, isolated: true,
               dhcp: {pool: 10.20.40.20-10.20.40.250, lease: 2h, dns: [9.9.9.9]}}
  management: {vlan: 99, prefix: 10.20.99.0/24, dhcp: {pool: 10.20.99.100-10.20.99.150}}
wifi:
  Mill Shop:  {subnet: shop, security: wpa2-enterprise, on: [ap1, ap2]}
  Mill Guest: {subnet: guest, security: wpa2-personal, passphrase: {env: MILL_GUEST}, client_isolation: true,
               on: [ap1, ap2]}
devices:
  gw1:
    {role: gateway, platform: mikrotik_routeros, address: 10.20.99.1,
     ports: {ether1: {uplink: dhcp}, ether2: {trunk: [shop, ovens, guest, management]}}}
  core1:
    role: core
    platform: cisco_ios
    address: 10.20.99.2
    ports:
      GigabitEthernet1/0/1-12: {access: shop}
      GigabitEthernet1/0/13: {access: ovens, description: deck oven}
      GigabitEthernet1/0/22-23: {trunk: [shop, guest, management], native: management}
      GigabitEthernet1/0/24: {trunk: [shop, ovens, guest, management]}
  ap1: {role: ap, platform: openwrt, address: 10.20.99.21, ports: {lan1: {trunk: [shop, guest], native: management}}}
  ap2: {role: ap, platform: openwrt, address: 10.20.99.22, ports: {lan1: {trunk: [shop, guest], native: management}}}
management: {ntp: [10.20.99.1], syslog: [10.20.99.5], logins: [ssh]}
links:
  - [gw1 ether2, core1 GigabitEthernet1/0/24]
  - [core1 GigabitEthernet1/0/22, ap1 lan1]
  - [core1 GigabitEthernet1/0/23, ap2 lan1]
deviations:
  - {device: core1, setting: ports.GigabitEthernet1/0/7.untagged, observed: 20,
     reason: dough mixer until the refit, approved_by: site owner, ticket: "0471", until: 2027-03-31}
"""

MANAGED = Management(ntp=("10.20.99.1",), syslog=("10.20.99.5",), logins=("ssh",))
NAMES = {10: Vlan(name="shop"), 20: Vlan(name="ovens"), 40: Vlan(name="guest"), 99: Vlan(name="management")}
NAMELESS = {10: Vlan(), 20: Vlan(), 40: Vlan(), 99: Vlan()}


def trunk(tagged, untagged=None, **more):
    """Return a trunk port."""
    return Port(mode="trunk", tagged=VlanSet.parse(tagged), untagged=untagged, **more)


def scope(vid, pool, lease=43200, dns="10.20.99.1"):
    """Return the DHCP scope of one of the bakery's subnets."""
    return DhcpScope(pools=(pool,), gateway=f"10.20.{vid}.1", dns=(dns,), domain="mill.example", lease_seconds=lease)


GW1 = DeviceState(
    hostname="gw1",
    vlans=NAMELESS,
    ports={"ether1": Port(mode="routed"), "ether2": trunk("10,20,40,99")},
    gateways={vid: Gateway(addresses=(f"10.20.{vid}.1/24",)) for vid in (10, 20, 40, 99)},
    dhcp={
        "10.20.10.0/24": scope(10, "10.20.10.50-10.20.10.199"),
        "10.20.40.0/24": scope(40, "10.20.40.20-10.20.40.250", 7200, "9.9.9.9"),
        "10.20.99.0/24": scope(99, "10.20.99.100-10.20.99.150"),
    },
    uplinks={"ether1": Uplink(method="dhcp")},
    management=MANAGED,
)
CORE1 = DeviceState(
    hostname="core1",
    vlans=NAMES,
    ports={f"GigabitEthernet1/0/{n}": Port(untagged=10) for n in range(1, 13)}
    | {
        "GigabitEthernet1/0/13": Port(untagged=20, description="deck oven"),
        "GigabitEthernet1/0/22": trunk("10,40", 99),
        "GigabitEthernet1/0/23": trunk("10,40", 99),
        "GigabitEthernet1/0/24": trunk("10,20,40,99"),
    },
    gateways={99: Gateway(addresses=("10.20.99.2/24",))},
    management=MANAGED,
)


def access_point(name, address):
    """Return what an access point of the bakery must be set to."""
    return DeviceState(
        hostname=name,
        vlans={10: Vlan(), 40: Vlan(), 99: Vlan()},
        ports={"lan1": trunk("10,40", 99)},
        gateways={99: Gateway(addresses=(f"{address}/24",))},
        ssids={
            "Mill Shop": Ssid(vlan=10, security="wpa2-enterprise"),
            "Mill Guest": Ssid(vlan=40, security="wpa2-personal", client_isolation=True, passphrase_matches=True),
        },
        management=MANAGED,
    )


STATES = {
    "gw1": GW1,
    "core1": CORE1,
    "ap1": access_point("ap1", "10.20.99.21"),
    "ap2": access_point("ap2", "10.20.99.22"),
}
