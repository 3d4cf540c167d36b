"""The review: each rule finds its fault and no other, and sound plans are silent.

Each rule names its source, a standard or common practice; what is from memory: the sections of RFC 950, 1122, 1542,
1918 and 2131, and IEEE 802.11i-2004 annex H.4.1 on the length of passphrases.
"""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network, ip_network
from typing import Any

import pytest

from auditor.plan.loader import load, parse
from auditor.review import LEVELS, RULES, review
from auditor.review.addresses import no_host
from tests.cli.called import Caller
from tests.compare.site import DRIFTS, NETWORKS
from tests.conftest import FIXTURES, from_yaml

SOUND = (FIXTURES / "review" / "plan.yaml").read_text(encoding="utf-8")
FAULTS: list[dict[str, Any]] = from_yaml((FIXTURES / "review" / "faults.yaml").read_text(encoding="utf-8"))
ENVIRONMENT = {"CYCLES_GUEST": "spokes and chains", "TOO_SHORT": "seven77", "TOO_LONG": "x" * 65}
PLANS = sorted([*NETWORKS.glob("*/plan.yaml"), *DRIFTS.glob("*/plan.yaml")])
names = pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault['rule']}: {fault['key']}")


def broken(fault: dict[str, Any]) -> str:
    text = SOUND
    for change in (fault, fault.get("second"), fault.get("third")):
        if change:
            assert text.count(change["old"]) == 1, change["old"]
            text = text.replace(change["old"], change["new"])
    return text


def test_the_sound_plan_is_sound():
    assert review(parse("plan.yaml", SOUND.encode()), ENVIRONMENT) == []


@pytest.mark.parametrize(
    ("prefix", "hosts"),
    [("192.0.2.0/29", range(1, 7)), ("192.0.2.0/30", (1, 2)), ("192.0.2.0/31", (0, 1)), ("192.0.2.0/32", (0,))],
)
def test_the_first_and_the_last_address_are_no_hosts_but_of_a_link_of_two(prefix: str, hosts: list[int]):
    """RFC 950 and 1122 keep both; RFC 3021 gives them to the two ends of a link where there are no others."""
    found = [last for last in range(8) if not no_host(IPv4Address(f"192.0.2.{last}"), IPv4Network(prefix))]
    assert found == list(hosts)


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.parent.name)
def test_plans_that_conform_are_silent(path):
    assert [f"{remark.key}: {remark.text}" for remark in review(load(path), {})] == []


@names
def test_a_fault_is_found_by_its_rule_alone(fault: dict[str, Any]):
    remarks = review(parse("plan.yaml", broken(fault).encode()), ENVIRONMENT)
    assert {remark.rule.name for remark in remarks} == {fault["rule"], *fault.get("also", ())}
    (first, *_) = [remark for remark in remarks if remark.rule.name == fault["rule"]]
    assert first.key == fault["key"]
    lines = broken(fault).splitlines()
    assert 1 <= first.line <= len(lines)
    assert remarks == sorted(remarks, key=lambda remark: remark.line)


def test_every_rule_has_a_fault_and_a_source():
    assert {fault["rule"] for fault in FAULTS} | {"devices-missing"} == {rule.name for rule in RULES}
    for rule in RULES:
        assert rule.level in LEVELS
        assert rule.sentence.endswith(".")
        assert "RFC" in rule.source or "IEEE" in rule.source or rule.source in ("common practice", "the plan itself")


@pytest.mark.parametrize("devices", ["", "devices: {}\n"])
def test_a_plan_without_devices_is_not_sound(devices: str):
    text = f"format: 1\nsite: x\nsubnets: {{a: {{vlan: 2, prefix: 10.0.0.0/24}}}}\n{devices}"
    (remark,) = review(parse("plan.yaml", text.encode()), {})
    assert (remark.rule.name, remark.rule.level, remark.key) == ("devices-missing", "error", "devices")


@pytest.mark.parametrize(
    ("terminals", "pool", "length"),
    [
        (60, "10.0.0.2-10.0.0.14", 26),
        (13, "10.0.0.2-10.0.0.6", 28),
        (14, "10.0.0.2-10.0.0.6", 27),
        (1000, "10.0.0.2-10.0.0.14", 22),
    ],
)
def test_the_prefix_length_that_would_do(terminals: int, pool: str, length: int):
    """RFC 1878: a prefix of length n has 2 ** (32 - n) addresses; two are no hosts, and one is the gateway's."""
    subnet = f"{{vlan: 2, prefix: 10.0.0.0/28, terminals: {terminals}, dhcp: {{pool: {pool}}}}}"
    text = f"format: 1\nsite: x\nsubnets:\n  a: {subnet}\n"
    text += "defaults: {gateway: gw1}\ndevices: {gw1: {role: gateway, platform: vyos}}\n"
    (remark,) = review(parse("plan.yaml", text.encode()), {})
    assert (f"a /{length} would do" in remark.text) == (length < 28), remark.text
    assert ip_network(f"10.0.0.0/{length}", strict=False).num_addresses - 3 >= terminals
    assert ip_network(f"10.0.0.0/{length + 1}", strict=False).num_addresses - 3 < terminals


@pytest.mark.parametrize(
    ("rule", "code"),
    [("", 0), ("core-should-route", 0), ("wifi-weak", 1), ("prefix-not-private", 1), ("pool-outside", 2)],
)
def test_the_command_ends_with_how_bad_it_is(rule: str, code: int, tmp_path, call: Caller):
    text = broken(next(fault for fault in FAULTS if fault["rule"] == rule)) if rule else SOUND
    (tmp_path / "plan.yaml").write_text(text)
    run = call("review", tmp_path / "plan.yaml", "--rules")
    assert (run.code, run.err) == (code, "")
    if rule:
        assert f"[{rule}]" in run.out
        assert next(each.sentence for each in RULES if each.name == rule) in run.out
    else:
        assert "the plan is sound" in run.out
