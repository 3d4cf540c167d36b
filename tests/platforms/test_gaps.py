"""What is declared as a gap of a dialect, and that nothing else is left out: neither by the law nor by the comparison.

What a dialect lacks is from its handbooks, from memory; what our templates cannot read is told by the law.
"""

from __future__ import annotations

from typing import Any

import pytest

from auditor.areas import expected_of
from auditor.core.state import DeviceState, DhcpScope, Management, Port, Setting, Ssid, Uplink
from auditor.plan.loader import Plan, parse
from auditor.plan.schema import BANDS, LOGINS, SECURITIES
from auditor.platforms import catalogue
from auditor.platforms.gaps import Gap, gap_of, touched, without
from tests.platforms.states import OPTIONS, Profile, profiles
from tests.platforms.test_abilities import SETTINGS, WITHOUT_A_WORD, claimed

Value = tuple[Setting, Any]
PROFILES = profiles()
VALUES: dict[str, list[Any]] = {
    "ports.mode": ["access", "trunk", "routed"],
    "ports.enabled": [False],
    "uplinks.method": ["dhcp", "pppoe", "static"],
    "ssids.security": list(SECURITIES),
    "ssids.bands": list(BANDS),
    "management.logins": list(LOGINS),
    "dhcp.options": sorted(OPTIONS),
}
"""Settings whose values are tried one by one."""
LIMITS: dict[str, tuple[str, str, Any]] = {
    "one_domain": ("dhcp.domain", "alike", True),
    "one": ("ports.voice", "alike", True),
    "same_relay": ("gateways.relay_to", "alike", True),
    "two_dns": ("management.dns", "most", 2),
    "two_ntp": ("management.ntp", "most", 2),
    "one_syslog": ("management.syslog", "most", 1),
}
"""By word of a profile (tests/platforms/states.py), the gap that it stands for."""


def place(text: str) -> Setting:
    area, _, field = text.partition(".")
    return Setting(area, "", field)


def universe() -> set[Value]:
    """Return all settings, and their values where these are tried one by one."""
    plain = {(place(text), None) for text in SETTINGS - WITHOUT_A_WORD - VALUES.keys() - {"hostname"}}
    return plain | {(place(text), value) for text, values in VALUES.items() for value in values}


def tried(profile: Profile) -> set[Value]:
    """Return what a profile has the law tried on."""
    ssids, dhcp = profile.get("ssids") or {}, profile.get("dhcp") or {}
    listed = {
        "ports.mode": profile["modes"],
        "ports.enabled": [False] if "off" in profile.get("port_settings", ()) else [],
        "uplinks.method": profile.get("uplinks", []),
        "ssids.security": ssids.get("securities", []),
        "ssids.bands": ssids.get("bands", []),
        "management.logins": [way for way in profile["management"] if way in LOGINS],
        "dhcp.options": dhcp.get("options", sorted(OPTIONS)) if "options" in dhcp.get("fields", ()) else [],
    }
    plain = {(place(text), None) for text in claimed(profile) - VALUES.keys() - {"hostname"}}
    return plain | {(place(text), value) for text, values in listed.items() for value in values}


def declared(name: str, value: Value, role: str) -> bool:
    """Return whether a platform says that it has a gap there."""
    platform = catalogue.get(name)
    setting, told = value
    gaps = [gap_of(gaps, setting, role) for gaps in (platform.lacks, platform.cannot)]
    return any(gap and (gap.whole or (told is not None and gap.holds_of(told))) for gap in gaps)


@pytest.mark.parametrize("name", catalogue.names())
def test_what_the_law_is_not_tried_on_is_declared(name: str):
    every = set().union(*(tried(profile) for platform, profile in PROFILES if platform == name))
    left_out = universe() - every
    assert [str(v) for v in sorted(left_out, key=str) if not declared(name, v, "gateway")] == []


@pytest.mark.parametrize(("name", "profile"), PROFILES, ids=[f"{n}-{p['role']}" for n, p in PROFILES])
def test_what_the_law_is_tried_on_is_no_gap(name: str, profile: Profile):
    assert [str(value) for value in sorted(tried(profile), key=str) if declared(name, value, profile["role"])] == []


@pytest.mark.parametrize(("name", "profile"), PROFILES, ids=[f"{n}-{p['role']}" for n, p in PROFILES])
def test_what_limits_the_states_of_the_law_is_declared(name: str, profile: Profile):
    dhcp = profile.get("dhcp") or {}
    words = {*profile.get("gateway_settings", ()), *dhcp.get("fields", ()), *profile["management"]}
    words.add(profile.get("voice", ""))
    wanted = {LIMITS[word] for word in words & LIMITS.keys()}
    wanted |= {("dhcp.pools", "most", 1)} if dhcp.get("pools") == 1 else set()
    found = {
        (str(setting).replace("..", "."), kind, limit)
        for setting, gap in catalogue.get(name).lacks.items()
        for kind, limit in (("alike", gap.alike), ("most", gap.most))
        if limit and limit < 3
    }
    assert {each for each in wanted if each not in found} == set()
    assert found - wanted == set()


@pytest.mark.parametrize("name", catalogue.names())
def test_each_reason_says_what_to_do_next(name: str):
    platform = catalogue.get(name)
    for gap in (*platform.lacks.values(), *platform.cannot.values()):
        assert gap.why.rpartition("; ")[2].startswith(("plan ", "check ", "look ", "none is expected", "no name is "))


STATE = DeviceState(
    ports={"a": Port(enabled=False, voice=20), "b": Port(voice=30), "c": Port(voice=20)},
    dhcp={"10.0.0.0/24": DhcpScope(options={42: "192.0.2.1", 43: "x"})},
    ssids={"Guest": Ssid(security="wep", bands=("5", "6"))},
    uplinks={"w": Uplink(method="pppoe")},
    management=Management(dns=("192.0.2.1", "192.0.2.2", "192.0.2.3"), snmp=False),
)


@pytest.mark.parametrize(
    ("setting", "gap", "where", "left"),
    [
        ("ports.voice", {}, ["ports.a.voice", "ports.b.voice", "ports.c.voice"], {"a": None, "b": None, "c": None}),
        ("ports.voice", {"alike": True}, ["ports.b.voice"], {"a": 20, "b": None, "c": 20}),
        ("ports.enabled", {"only": [False]}, ["ports.a.enabled"], {"a": True, "b": True, "c": True}),
        ("dhcp.options", {"but": [42]}, ["dhcp.10.0.0.0/24.options"], {"10.0.0.0/24": {42: "192.0.2.1"}}),
        ("ssids.bands", {"only": ["6"]}, ["ssids.Guest.bands"], {"Guest": ("5",)}),
        ("ssids.security", {"only": ["open"]}, [], {"Guest": "wep"}),
        ("ssids.security", {"only": ["wep"]}, ["ssids.Guest.security"], {"Guest": None}),
        ("ssids.security", {"only": ["wep"], "roles": ["ap"]}, [], {"Guest": "wep"}),
        ("ssids", {}, ["ssids.Guest"], {}),
        ("uplinks.method", {"only": ["pppoe"]}, ["uplinks.w.method"], {}),
        ("management.dns", {"most": 2}, ["management.dns"], {"": ("192.0.2.1", "192.0.2.2")}),
        ("management.snmp", {}, [], {"": False}),
    ],
)
def test_a_gap_takes_its_values_and_nothing_else(setting: str, gap: dict[str, Any], where: list[str], left: Any):
    gaps = {place(setting): Gap.model_validate({"why": "plan something else", **gap})}
    assert [str(found) for found, _ in touched(gaps, STATE, "gateway")] == where
    rest = without(gaps, STATE, "gateway")
    area, _, field = setting.partition(".")
    items = {"": rest.management} if area == "management" else getattr(rest, area)
    assert {key: getattr(item, field) for key, item in items.items() if field} == left
    assert rest.model_copy(update={area: getattr(STATE, area)}) == STATE


def planned(platform: str, ports: str, more: str = "") -> Plan:
    text = f"""
        format: 1
        site: Gaps
        defaults: {{gateway: d}}
        subnets:
          a: {{vlan: 10, prefix: 10.0.10.0/24,
               dhcp: {{pool: 10.0.10.50-10.0.10.99, options: {{42: 192.0.2.1, 43: x}}}}}}
          b: {{vlan: 20, prefix: 10.0.20.0/24, dhcp: {{pool: 10.0.20.50-10.0.20.99}}}}
        devices: {{d: {{role: core, platform: {platform}, ports: {{{ports}}}}}}}
        {more}
        """
    return parse("plan.yaml", "\n".join(line[8:] for line in text.splitlines()).encode())


def test_what_is_lacking_is_not_expected_and_not_written():
    wifi = "wifi: {Guest: {subnet: a, security: open, on: [d]}}"
    expected = expected_of(planned("hp_procurve", "'1': {access: a}, '2': {uplink: dhcp}", wifi))["d"]
    assert (expected.state.ssids, expected.state.uplinks) == ({}, {})
    assert {setting.area for setting in expected.settings} == {"hostname", "vlans", "ports", "gateways", "dhcp"}
    assert {str(setting) for setting in expected.lacking} >= {"ssids.Guest", "uplinks.2"}


@pytest.mark.parametrize(
    ("platform", "ports", "unwritten"),
    [
        ("arista_eos", "Ethernet1: {uplink: pppoe}", "pppoe"),
        ("cisco_s300", "GigabitEthernet1: {uplink: pppoe}", "pppoe"),
        ("tplink_jetstream", "gigabitEthernet1/0/1: {uplink: pppoe}", "pppoe"),
        ("vyos", "eth1: {trunk: [a, b]}", "option 43"),
    ],
)
def test_a_value_that_is_lacking_is_expected_and_not_written(platform: str, ports: str, unwritten: str):
    from auditor.app.expectation import expectation_files  # noqa: PLC0415 - heavy

    files = expectation_files(planned(platform, ports))
    assert unwritten not in files["d.cfg"].decode()
    assert ("pppoe" in files["d.json"].decode()) == ("uplink" in ports)
