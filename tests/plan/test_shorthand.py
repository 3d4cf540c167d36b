"""Every shorthand of a plan file means the same as the long form."""

from __future__ import annotations

import pytest

from auditor.areas import expected_of
from auditor.errors import PlanError
from auditor.plan.loader import parse

BASE = """format: 1
site: Mill Lane Bakery
defaults: {gateway: sw1}
subnets:
  shop: {vlan: 10, prefix: 10.20.10.0/24}
  phones: {vlan: 30, prefix: 10.20.30.0/24}
  guest: {vlan: 40, prefix: 10.20.40.0/24}
devices:
  sw1: {role: core, platform: cisco_ios, ports: {GigabitEthernet1/0/1: {access: shop}}}
"""
SUBNET = "{vlan: 10, prefix: 10.20.10.0/24}"
PORT = "{GigabitEthernet1/0/1: {access: shop}}"
POOL = "pool: 10.20.10.50-10.20.10.99"


def states(text):
    return {name: each.state for name, each in expected_of(parse("plan.yaml", text.encode())).items()}


def with_subnet(more):
    return BASE.replace(SUBNET, "{vlan: 10, prefix: 10.20.10.0/24, " + more + "}")


def with_dhcp(more):
    return with_subnet("dhcp: {" + more + "}")


def with_ports(ports):
    return BASE.replace(PORT, "{" + ports + "}")


def with_wifi(more):
    return BASE + "wifi:\n  Mill Guest: {subnet: guest, security: open, " + more + "}\n"


@pytest.mark.parametrize(
    ("short", "long"),
    [
        (with_subnet("gateway: sw1"), with_subnet("gateway: {on: sw1}")),
        (with_subnet("gateway: sw1"), with_subnet("gateway: {on: sw1, address: 10.20.10.1}")),
        (with_subnet("dhcp: none"), with_subnet("dhcp: {none: true}")),
        (with_dhcp(POOL), with_dhcp("pool: [10.20.10.50 - 10.20.10.99]")),
        (with_dhcp("pool: '10.20.10.50-10.20.10.59, 10.20.10.70-10.20.10.79'"),
         with_dhcp("pool: [10.20.10.70-10.20.10.79, 10.20.10.50-10.20.10.59]")),
        (with_dhcp("pool: 10.20.10.64/26"), with_dhcp("pool: 10.20.10.64-10.20.10.127")),
        (with_dhcp("pool: 10.20.10.9"), with_dhcp("pool: 10.20.10.9-10.20.10.9")),
        (with_dhcp("relay: 10.0.0.5"), with_dhcp("relay: [10.0.0.5]")),
        (with_dhcp("relay: [10.0.0.6, 10.0.0.5]"), with_dhcp("relay: [10.0.0.5, 10.0.0.6]")),
        (with_dhcp(f"{POOL}, lease: 1d"), with_dhcp(f"{POOL}, lease: 24h")),
        (with_dhcp(f"{POOL}, lease: 86400"), with_dhcp(f"{POOL}, lease: 1d")),
        (with_dhcp(f"{POOL}, lease: 12:00:00"), with_dhcp(f"{POOL}, lease: 12h")),
        (with_dhcp(f"{POOL}, dns: 9.9.9.9"), with_dhcp(f"{POOL}, dns: [9.9.9.9]")),
        (with_dhcp(f"{POOL}, dns: [9.9.9.9, 10.0.0.53]"), with_dhcp(f"{POOL}, dns: [10.0.0.53, 9.9.9.9]")),
        (with_dhcp(f"{POOL}, options: {{42: [10.0.0.1, 10.0.0.2]}}"),
         with_dhcp(f"{POOL}, options: {{42: '10.0.0.1,10.0.0.2'}}")),
        (with_dhcp(f"{POOL}, options: {{66: 5}}"), with_dhcp(f"{POOL}, options: {{'66': '5'}}")),
        (with_dhcp(f"{POOL}, reservations: {{10.20.10.60: 00-00-5E-00-53-60}}"),
         with_dhcp(f"{POOL}, reservations: {{10.20.10.60: '00:00:5e:00:53:60'}}")),
        (with_dhcp(f"{POOL}, reservations: {{00:00:5e:00:53:60: 10.20.10.60}}"),
         with_dhcp(f"{POOL}, reservations: {{10.20.10.60: 0000.5e00.5360}}")),
        (with_dhcp(f"{POOL}, reservations: [{{address: 10.20.10.60, mac: 00:00:5e:00:53:60}}]"),
         with_dhcp(f"{POOL}, reservations: {{till: {{address: 10.20.10.60, mac: 00:00:5e:00:53:60}}}}")),
        (with_dhcp(f"{POOL}, reservations: {{10.20.10.60: 00005e005360}}"),
         with_dhcp(f"{POOL}, reservations: {{10.20.10.60: 00:00:5e:00:53:60}}")),
        (with_ports("Gi1/0/1-3: {access: shop}"),
         with_ports("Gi1/0/1: {access: shop}, gigabitethernet 1/0/2: {access: shop}, Gi 1/0/3: {access: shop}")),
        (with_ports("'Gi1/0/1,3-4': {access: shop}"), with_ports("Gi1/0/3-4: {access: shop}, Gi1/0/1: {access: shop}")),
        (with_ports("'Gi1/0/1,Te1/1/1': {off: true}"), with_ports("Te1/1/1: {off: true}, Gi1/0/1: {off: true}")),
        (with_ports("Gi1/0/1: {trunk: shop}"), with_ports("Gi1/0/1: {trunk: [shop]}")),
        (with_ports("Gi1/0/1: {trunk: [shop, guest], native: guest}"),
         with_ports("Gi1/0/1: {trunk: [shop], native: guest}")),
        (with_ports("Gi1/0/1: {trunk: [guest, shop, guest]}"), with_ports("Gi1/0/1: {trunk: [shop, guest]}")),
        (with_ports("Gi1/0/1: {trunk: all}"), with_ports("Gi1/0/1: {trunk: [shop, phones, guest]}")),
        (with_ports("Gi1/0/1: {access: shop, off: false}"), with_ports("Gi1/0/1: {access: shop}")),
        (with_wifi("on: sw1"), with_wifi("on: [sw1]")),
        (with_wifi("on: sw1, bands: 5"), with_wifi("on: [sw1], bands: ['5']")),
        (with_wifi("on: sw1, bands: [5, 2.4]"), with_wifi("on: [sw1], bands: ['2.4', '5']")),
        (with_wifi("on: sw1, hidden: false"), with_wifi("on: sw1, client_isolation: false")),
        (BASE + "management: {ntp: 10.0.0.1}\n", BASE + "management: {ntp: [10.0.0.1]}\n"),
        (BASE + "management: {logins: ssh}\n", BASE + "management: {logins: [ssh, ssh]}\n"),
        (BASE.replace("vlan: 10,", "vlan: '10',"), BASE),
        (BASE.replace("10.20.10.0/24", "10.20.10.0/255.255.255.0"), BASE),
        (BASE.replace("{gateway: sw1}", "{gateway: sw1, lease: 1h}"),
         BASE.replace("{gateway: sw1}", "{gateway: sw1, lease: 60m}")),
        (BASE.replace("role: core", "'role': \"core\""), BASE),
        (BASE.replace("platform: cisco_ios,", "platform: cisco_ios, hostname: sw1,"), BASE),
    ],
)  # fmt: skip
def test_both_spellings_mean_the_same(short, long):
    assert short != long
    assert states(short) == states(long)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("on", "on"),
        ("off", "off"),
        ("yes", "yes"),
        ("no", "no"),
        ("0123", "0123"),
        ("4711", "4711"),
        ("12:30:00", "12:30:00"),
        ("2.40", "2.40"),
        ("1_000", "1_000"),
        ("0x1F", "0x1F"),
        ("1e3", "1e3"),
        ("2027-03-31", "2027-03-31"),
        ("=", "="),
        ("'null'", "null"),
        (".5", ".5"),
    ],
)
def test_text_is_kept_as_it_was_written(written, meant):
    """YAML 1.1 would make truth values, numbers and days of most of these."""
    plan = parse("plan.yaml", BASE.replace("Mill Lane Bakery", written).encode())
    assert plan.data.site == meant


@pytest.mark.parametrize("key", ["on", "off", "no", "y", "null", "10", "0123", "1.50", "2027-03-31", "true", "~"])
def test_names_are_kept_as_they_were_written(key):
    plan = parse("plan.yaml", BASE.replace("  phones:", f"  {key}:").encode())
    assert list(plan.data.subnets) == ["shop", key, "guest"]


@pytest.mark.parametrize("name", ["sfp28-1", "sfp28-2", "qsfp28-1", "qsfp28-1-1"])
def test_a_port_can_be_planned_whose_name_ends_in_a_dash_and_a_number(name):
    """RouterOS calls its 25-Gbit/s ports sfp28-1, sfp28-2 (common practice, seen in exports): these are no ranges."""
    text = with_ports(f"{name}: {{access: shop}}").replace("cisco_ios", "mikrotik_routeros")
    assert list(states(text)["sw1"].ports) == [name]


def test_anchors_and_aliases_save_writing():
    text = BASE.replace(PORT, "{Gi1/0/1: &till {access: shop}, Gi1/0/2: *till}")
    assert set(states(text)["sw1"].ports) == {"GigabitEthernet1/0/1", "GigabitEthernet1/0/2"}


@pytest.mark.parametrize("ports", ["{}", "{GigabitEthernet1/0/1: {ignore: true}}"])
def test_nothing_planned_is_nothing_expected(ports):
    assert states(BASE.replace(PORT, ports))["sw1"].ports == {}


def test_the_smallest_plan():
    plan = parse("plan.yaml", b"format: 1\nsite: Mill Lane Bakery\n")
    assert expected_of(plan) == {}
    with pytest.raises(PlanError):
        parse("plan.yaml", b"format: 1\n")
