"""From a plan to expected settings: what the example does not have, each with its value worked out by hand."""

from __future__ import annotations

import pytest

from auditor.areas import expected_of
from auditor.core.state import DhcpScope, Gateway, Management, Port, Setting, Ssid, Uplink
from auditor.core.values import VlanSet
from auditor.plan.loader import parse

HEAD = """format: 1
site: Mill Lane Bakery
"""
SUBNETS = """subnets:
  shop: {vlan: 10, prefix: 10.20.10.0/24}
  phones: {vlan: 30, prefix: 10.20.30.0/24}
  guest: {vlan: 40, prefix: 10.20.40.0/24}
"""


def expected(body, device="sw1"):
    return expected_of(parse("plan.yaml", (HEAD + body).encode()))[device]


def ports(text, platform="cisco_ios", more=""):
    return expected(f"{SUBNETS}{more}devices: {{sw1: {{role: core, platform: {platform}, ports: {{{text}}}}}}}\n")


def trunk(tagged, untagged=None):
    return Port(mode="trunk", tagged=VlanSet.parse(tagged), untagged=untagged)


@pytest.mark.parametrize(
    ("text", "port"),
    [
        ("{access: shop}", Port(untagged=10)),
        ("{access: shop, voice: phones}", Port(untagged=10, voice=30)),
        ("{access: shop, description: till}", Port(untagged=10, description="till")),
        ("{access: shop, description: ''}", Port(untagged=10, description="")),
        ("{trunk: [shop, guest]}", trunk("10,40")),
        ("{trunk: [shop, guest], native: guest}", trunk("10", 40)),
        ("{trunk: [shop], native: guest}", trunk("10", 40)),
        ("{trunk: [shop], native: shop}", trunk("", 10)),
        ("{trunk: []}", trunk("")),
        ("{trunk: [], native: shop}", trunk("", 10)),
        ("{trunk: all}", trunk("10,30,40")),
        ("{trunk: all, native: phones}", trunk("10,40", 30)),
        ("{off: true}", Port(enabled=False)),
        ("{off: true, description: spare}", Port(enabled=False, description="spare")),
        ("{uplink: dhcp}", Port(mode="routed")),
    ],
)
def test_each_kind_of_port(text, port):
    assert ports(f"Gi1/0/1: {text}").state.ports == {"GigabitEthernet1/0/1": port}


def test_where_a_dialect_has_no_voice_vlan_the_phones_are_tagged():
    """Design: a setting that a dialect has no notion of is not expected there; the frames must travel all the same."""
    state = ports("ether2: {access: shop, voice: phones}", "mikrotik_routeros").state
    assert state.ports == {"ether2": trunk("30", 10)}
    assert sorted(state.vlans) == [10, 30]


def test_a_port_that_must_be_off_has_no_other_settings():
    each = ports("Gi1/0/1: {off: true}")
    assert list(each.settings) == [Setting("hostname"), Setting("ports", "GigabitEthernet1/0/1", "enabled")]


@pytest.mark.parametrize(
    ("uplink", "found"),
    [
        ("dhcp", Uplink(method="dhcp")),
        ("pppoe", Uplink(method="pppoe")),
        ("{static: 203.0.113.2/30}", Uplink(method="static", address="203.0.113.2/30")),
        ("{static: 203.0.113.2}", Uplink(method="static", address="203.0.113.2")),
    ],
)
def test_uplinks(uplink, found):
    each = ports(f"ether1: {{uplink: {uplink}}}", "mikrotik_routeros")
    assert each.state.uplinks == {"ether1": found}
    assert each.uplinks == {"ether1"}
    assert not each.state.vlans


@pytest.mark.parametrize(
    ("rule", "port", "vlans"),
    [
        ("ignore", None, []),
        ("disabled", Port(enabled=False), []),
        ("{access: guest}", Port(untagged=40), [40]),
    ],
)
def test_ports_that_the_plan_does_not_list(rule, port, vlans):
    for more, own in ((f"defaults: {{unlisted_ports: {rule}}}\n", ""), ("", f", unlisted_ports: {rule}")):
        body = f"{SUBNETS}{more}devices: {{sw1: {{role: core, platform: cisco_ios{own}}}}}\n"
        assert expected(body).unlisted == port
        assert sorted(expected(body).state.vlans) == vlans


def test_a_device_s_own_rule_for_unlisted_ports_wins():
    own = "devices: {sw1: {role: core, platform: cisco_ios, unlisted_ports: ignore}}\n"
    assert expected("defaults: {unlisted_ports: disabled}\n" + own).unlisted is None


def test_ignored_ports_and_trunks_that_carry_all():
    each = ports("Gi1/0/1: {ignore: true}, Gi1/0/2-3: {trunk: all}, Gi1/0/4: {access: shop}")
    assert each.ignored_ports == {"GigabitEthernet1/0/1"}
    assert each.carries_all == {"GigabitEthernet1/0/2", "GigabitEthernet1/0/3"}
    assert "GigabitEthernet1/0/1" not in each.state.ports


ROUTED = """subnets:
  shop: {vlan: 10, prefix: 10.20.10.0/24, gateway: GATEWAY, dhcp: DHCP}
devices:
  sw1: {role: core, platform: cisco_ios}
  sw2: {role: core, platform: cisco_ios, address: 10.20.10.7}
"""


def routed(gateway="{on: sw1}", dhcp="none", defaults="", device="sw1"):
    return expected(defaults + ROUTED.replace("GATEWAY", gateway).replace("DHCP", dhcp), device).state


@pytest.mark.parametrize(
    ("gateway", "found"),
    [
        ("{on: sw1}", Gateway(addresses=("10.20.10.1/24",))),
        ("{on: sw1, address: 10.20.10.254}", Gateway(addresses=("10.20.10.254/24",))),
        ("{on: sw1, address: 10.20.10.2, shared: 10.20.10.1}",
         Gateway(addresses=("10.20.10.2/24",), shared_addresses=("10.20.10.1",))),
    ],
)  # fmt: skip
def test_gateways(gateway, found):
    state = routed(gateway)
    assert state.gateways == {10: found}
    assert state.vlans[10].name == "shop"


def test_a_device_s_own_address_is_expected_on_its_vlan_interface():
    assert routed(device="sw2").gateways == {10: Gateway(addresses=("10.20.10.7/24",))}
    assert routed("{on: sw2, address: 10.20.10.7}", device="sw2").gateways == {
        10: Gateway(addresses=("10.20.10.7/24",))
    }


def test_two_addresses_of_a_device_in_one_subnet():
    state = routed("{on: sw2}", device="sw2")
    assert state.gateways == {10: Gateway(addresses=("10.20.10.1/24", "10.20.10.7/24"))}


@pytest.mark.parametrize(
    ("prefix", "address"),
    [
        ("10.20.10.0/24", "10.20.10.1/24"),
        ("10.20.10.64/26", "10.20.10.65/26"),
        # RFC 3021: both addresses of a /31 are hosts
        ("10.20.10.0/31", "10.20.10.0/31"),
        ("10.20.10.9/32", "10.20.10.9/32"),
        ("10.0.0.0/8", "10.0.0.1/8"),
    ],
)
def test_the_gateway_is_the_first_host_unless_said_otherwise(prefix, address):
    body = ROUTED.replace("10.20.10.0/24", prefix).replace("GATEWAY", "sw1").replace("DHCP", "none")
    assert expected(body).state.gateways == {10: Gateway(addresses=(address,))}


def test_a_relay_is_expected_at_the_gateway_and_no_scope():
    state = routed(dhcp="{relay: [10.0.0.6, 10.0.0.5]}")
    assert state.gateways[10].relay_to == ("10.0.0.5", "10.0.0.6")
    assert state.dhcp == {}


FULL = """{pool: [10.20.10.150-10.20.10.199, 10.20.10.50-10.20.10.99], gateway: 10.20.10.9, dns: [9.9.9.9, 10.0.0.53],
  domain: till.example, lease: 30m, options: {150: 10.0.0.9, 42: [10.0.0.2, 10.0.0.1]},
  reservations: {10.20.10.60: 00-00-5E-00-53-60, 10.20.10.7: 0000.5e00.5307}}"""


def test_a_scope_with_everything():
    assert routed(dhcp=FULL).dhcp == {
        "10.20.10.0/24": DhcpScope(
            pools=("10.20.10.50-10.20.10.99", "10.20.10.150-10.20.10.199"),
            gateway="10.20.10.9",
            dns=("10.0.0.53", "9.9.9.9"),
            domain="till.example",
            lease_seconds=1800,
            options={42: "10.0.0.2,10.0.0.1", 150: "10.0.0.9"},
            reservations={"10.20.10.7": "00:00:5e:00:53:07", "10.20.10.60": "00:00:5e:00:53:60"},
        )
    }
    assert list(routed(dhcp=FULL).dhcp["10.20.10.0/24"].options) == [42, 150]


@pytest.mark.parametrize(
    "pools",
    ["[10.20.10.20-10.20.10.29, 10.20.10.30-10.20.10.39]", "[10.20.10.20-10.20.10.35, 10.20.10.30-10.20.10.39]"],
)
def test_pools_that_touch_are_one_as_they_are_when_read(pools):
    """A device's ranges are merged where they are read; the plan's must be, too, or they can never be equal."""
    assert routed(dhcp=f"{{pool: {pools}}}").dhcp["10.20.10.0/24"].pools == ("10.20.10.20-10.20.10.39",)


def test_a_scope_takes_over_the_defaults_and_its_gateway():
    state = routed(
        "{on: sw1, address: 10.20.10.2, shared: 10.20.10.1}",
        "{pool: 10.20.10.50-10.20.10.99}",
        "defaults: {dns: 9.9.9.9, domain: mill.example, lease: 8h}\n",
    )
    assert state.dhcp["10.20.10.0/24"] == DhcpScope(
        pools=("10.20.10.50-10.20.10.99",), gateway="10.20.10.1", dns=("9.9.9.9",), domain="mill.example",
        lease_seconds=28800,
    )  # fmt: skip


def test_what_a_scope_leaves_unsaid_is_open():
    body = ROUTED.replace("GATEWAY", "sw1").replace("DHCP", "{pool: 10.20.10.50-10.20.10.99}")
    unsaid = expected(body).unsaid
    assert {Setting("dhcp", "10.20.10.0/24", name) for name in ("dns", "domain", "lease_seconds")} <= unsaid
    assert Setting("dhcp", "10.20.10.0/24", "pools") not in unsaid


def test_wifi_names():
    body = SUBNETS + (
        "devices: {ap1: {role: ap, platform: openwrt}, ap2: {role: ap, platform: openwrt}}\n"
        "wifi:\n"
        "  Mill Guest:\n"
        "    {subnet: guest, security: open, bands: [5, 2.4], on: ap1, hidden: true, client_isolation: true}\n"
        "  Mill Shop: {subnet: shop, security: wpa3-personal, on: [ap1, ap2]}\n"
    )
    assert expected(body, "ap1").state.ssids == {
        "Mill Guest": Ssid(vlan=40, security="open", bands=("2.4", "5"), hidden=True, client_isolation=True),
        "Mill Shop": Ssid(vlan=10, security="wpa3-personal"),
    }
    assert list(expected(body, "ap2").state.ssids) == ["Mill Shop"]
    assert sorted(expected(body, "ap2").state.vlans) == [10]


def test_management_of_one_device_goes_before_that_of_all():
    body = (
        "devices:\n"
        "  sw1: {role: core, platform: cisco_ios, management: {ntp: [10.0.0.2, 10.0.0.1], snmp: false, logins: []}}\n"
        "management: {ntp: 10.0.0.9, dns: 10.0.0.8, logins: [ssh, https]}\n"
    )
    each = expected(body)
    assert each.state.management == Management(ntp=("10.0.0.1", "10.0.0.2"), dns=("10.0.0.8",), snmp=False, logins=())
    assert Setting("management", "", "syslog") in each.unsaid
    assert Setting("management", "", "logins") not in each.unsaid


def test_a_device_may_call_itself_something_else():
    assert (
        expected("devices: {sw1: {role: core, platform: cisco_ios, hostname: MILL-SW1}}\n").state.hostname == "MILL-SW1"
    )


def test_what_a_dialect_has_no_notion_of_is_not_expected():
    each = ports("lan1: {access: shop, description: till}", "openwrt", "management: {snmp: true}\n")
    assert each.state.vlans[10].name is None
    assert each.state.ports["lan1"].description is None
    assert each.state.management.snmp is None
    assert not [s for s in each.settings if s.field in ("name", "description", "snmp")]
