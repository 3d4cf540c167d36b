"""The untagged VLAN of a router's port has no number there; the address on the port tells which subnet it is."""

from __future__ import annotations

import pytest

from auditor.plan.loader import parse
from tests.compare.site import Site, unseen

PLAN = """
format: 1
site: Mill Lane Cycles
defaults: {{gateway: gw1}}
subnets:
  staff: {{vlan: 10, prefix: 10.1.10.0/24, dhcp: none}}
  management: {{vlan: 99, prefix: 10.1.99.0/24, dhcp: none}}
  workshop: {{vlan: 30, prefix: 10.1.30.0/24, dhcp: none}}
devices:
  gw1: {{role: gateway, platform: {platform}, ports: {{{ports[0]}: {{trunk: [staff], native: management}},
                                                    {ports[1]}: {{access: workshop}}}}}}
"""
VYOS = """set system host-name gw1
set interfaces ethernet eth1 address {native}
set interfaces ethernet eth1 vif 10 address 10.1.10.1/24
set interfaces ethernet eth2 address 10.1.30.1/24
"""
IOS = """hostname gw1
interface GigabitEthernet0/0
 ip address {native_ip} 255.255.255.0
interface GigabitEthernet0/0.10
 encapsulation dot1Q 10
 ip address 10.1.10.1 255.255.255.0
interface GigabitEthernet0/1
 ip address 10.1.30.1 255.255.255.0
end
"""
JUNOS = """set system host-name gw1
set interfaces ge-0/0/1 vlan-tagging
set interfaces ge-0/0/1 unit 0 family inet address {native}
set interfaces ge-0/0/1 unit 10 vlan-id 10
set interfaces ge-0/0/1 unit 10 family inet address 10.1.10.1/24
set interfaces ge-0/0/2 unit 0 family inet address 10.1.30.1/24
"""
GATEWAYS = {
    "vyos": (("eth1", "eth2"), VYOS),
    "cisco_ios": (("GigabitEthernet0/0", "GigabitEthernet0/1"), IOS),
    "juniper_junos": (("ge-0/0/1", "ge-0/0/2"), JUNOS),
}


def audited(platform: str, native: str) -> dict[str, str]:
    ports, text = GATEWAYS[platform]
    plan = parse("plan.yaml", PLAN.format(platform=platform, ports=ports).encode())
    capture = text.format(native=native, native_ip=native.partition("/")[0])
    report = Site(plan, {"gw1.cfg": capture.encode()}).report()
    assert report.complete
    assert unseen(report) == []
    return {finding.setting: finding.kind for finding in report.findings}


@pytest.mark.parametrize("platform", GATEWAYS)
def test_an_address_in_the_planned_prefix_makes_the_port_one_of_its_vlan(platform):
    """Common practice, no source: a router takes untagged frames into the interface itself."""
    assert audited(platform, "10.1.99.1/24") == {}


@pytest.mark.parametrize("platform", GATEWAYS)
def test_another_address_in_it_is_told(platform):
    assert audited(platform, "10.1.99.3/24") == {"gateways.99.addresses": "differs"}


@pytest.mark.parametrize("platform", GATEWAYS)
def test_an_address_of_another_prefix_is_not_taken_for_it(platform):
    ports, _ = GATEWAYS[platform]
    found = audited(platform, "10.1.98.1/24")
    assert found["gateways.99"] == "absent"
    assert f"ports.{ports[0]}.untagged" in found
