"""A plan with every key: what is read from it, and what each device must therefore be set to."""

from __future__ import annotations

from datetime import date
from ipaddress import IPv4Address, IPv4Network

import pytest

from auditor import load_plan
from auditor.areas import expected_of
from auditor.core.state import Setting
from auditor.plan.loader import parse
from auditor.plan.schema import DhcpPlan
from tests.plan.example import PLAN, STATES


@pytest.fixture(scope="module")
def plan():
    return parse("plan.yaml", PLAN.encode())


@pytest.fixture(scope="module")
def expected(plan):
    return expected_of(plan)


def test_every_key_means_what_it_says(plan):
    data = plan.data
    assert (data.format, data.site, data.reference) == (1, "Mill Lane Bakery", "MLB-01")
    assert [(r.prefix, r.why) for r in data.reserved] == [
        (IPv4Network("192.168.1.0/24"), "the carrier's modem hands out addresses here")
    ]
    assert data.defaults.gateway == "gw1"
    assert data.defaults.dns == [IPv4Address("10.20.99.1")]
    assert (data.defaults.domain, data.defaults.lease, data.defaults.unlisted_ports) == (
        "mill.example",
        43200,
        "ignore",
    )
    guest = data.subnets["guest"]
    assert (guest.vlan, guest.prefix, guest.isolated, guest.terminals) == (40, IPv4Network("10.20.40.0/24"), True, None)
    assert guest.dhcp is not None
    assert guest.dhcp.pool == [(IPv4Address("10.20.40.20"), IPv4Address("10.20.40.250"))]
    assert (guest.dhcp.lease, guest.dhcp.dns) == (7200, [IPv4Address("9.9.9.9")])
    assert data.subnets["ovens"].dhcp == DhcpPlan(none=True)
    assert data.subnets["shop"].terminals == 60
    wifi = data.wifi["Mill Guest"]
    assert (wifi.subnet, wifi.security, wifi.client_isolation, wifi.on) == (
        "guest",
        "wpa2-personal",
        True,
        ["ap1", "ap2"],
    )
    assert wifi.passphrase is not None
    assert wifi.passphrase.env == "MILL_GUEST"
    assert data.links[0] == ["gw1 ether2", "core1 GigabitEthernet1/0/24"]


def test_a_deviation_is_read_whole(plan):
    (deviation,) = plan.data.deviations
    assert deviation.model_dump() == {
        "device": "core1",
        "setting": "ports.GigabitEthernet1/0/7.untagged",
        "observed": 20,
        "line": "",
        "reason": "dough mixer until the refit",
        "approved_by": "site owner",
        "ticket": "0471",
        "until": date(2027, 3, 31),
    }


@pytest.mark.parametrize("device", STATES)
def test_each_device_s_expected_settings(expected, device):
    assert expected[device].state.as_json() == STATES[device].as_json()
    assert expected[device].state == STATES[device]


def test_devices_come_in_the_plan_s_order_with_role_and_platform(expected):
    assert [(e.device, e.role, e.platform) for e in expected.values()] == [
        ("gw1", "gateway", "mikrotik_routeros"),
        ("core1", "core", "cisco_ios"),
        ("ap1", "ap", "openwrt"),
        ("ap2", "ap", "openwrt"),
    ]


def test_what_the_plan_leaves_unsaid_is_not_judged(expected):
    core = expected["core1"]
    assert Setting("ports", "GigabitEthernet1/0/1", "description") in core.unsaid
    assert Setting("ports", "GigabitEthernet1/0/13", "description") not in core.unsaid
    assert {Setting("management", "", name) for name in ("dns", "snmp")} <= core.unsaid
    assert Setting("management", "", "ntp") not in core.unsaid
    assert Setting("ssids", "Mill Shop", "bands") in expected["ap1"].unsaid
    assert Setting("ssids", "Mill Shop", "passphrase_matches") in expected["ap1"].unsaid
    assert Setting("ssids", "Mill Guest", "passphrase_matches") not in expected["ap1"].unsaid
    assert not expected["gw1"].carries_all
    assert expected["gw1"].uplinks == {"ether1"}
    assert expected["ap1"].passphrases == {"Mill Guest": "MILL_GUEST"}
    assert expected["gw1"].passphrases == {}


def test_every_planned_setting_is_counted_once_and_none_that_is_unsaid(expected):
    for each in expected.values():
        settings = list(each.settings)
        assert len(settings) == len(set(settings))
        assert not set(settings) & each.unsaid
    ports = [s for s in expected["core1"].settings if s.area == "ports"]
    described = Setting("ports", "GigabitEthernet1/0/13", "description")
    assert described in ports
    # 16 ports: each on or off and its mode, 15 untagged VLANs, 3 lists of tagged ones, 1 description
    assert len(ports) == 16 + 16 + 15 + 3 + 1


def test_lines_are_known(plan):
    lines = PLAN.split("\n")
    for path, word in (
        (("subnets", "guest"), "  guest:"),
        (("wifi", "Mill Guest", "on"), "on: [ap1, ap2]"),
        (("devices", "core1", "ports", "GigabitEthernet1/0/13"), "GigabitEthernet1/0/13:"),
        (("links", 1, 0), "core1 GigabitEthernet1/0/22"),
        (("deviations", 0, "ticket"), "ticket"),
    ):
        assert word in lines[plan.tree.line(path) - 1]


def test_a_file_is_the_same_as_its_bytes(tmp_path, plan):
    path = tmp_path / "plan.yaml"
    path.write_text(PLAN, encoding="utf-8")
    loaded = load_plan(path)
    assert (loaded.data, loaded.ports, loaded.sha256) == (plan.data, plan.ports, plan.sha256)
    assert loaded.file == str(path)


def test_lookups(plan):
    found = plan.subnet_of(40)
    assert found is not None
    assert found[0] == "guest"
    assert plan.subnet_of(41) is None
    assert plan.gateway_of(plan.data.subnets["shop"]) == "gw1"
