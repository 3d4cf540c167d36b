"""What is said beside a proposal: what may be cut off, and the order that keeps a way in open. All common practice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.core.report import Finding
from auditor.corrections.cautions import GENERAL
from auditor.plan.loader import parse
from tests.compare.site import conforming, edited, plan_text

CORE = "core1/show_running-config.txt"


def correction(file: str, old: str, new: str, setting: str, below: str = "") -> Finding:
    """Return a finding of a site after one change of a capture."""
    name, _, capture = file.partition("/")
    site = conforming(name)
    text = edited(site.text(capture), old, new, below)
    return next(f for f in site.having(capture, text).report().findings if f.setting == setting)


def cautions(finding: Finding) -> str:
    assert finding.proposed is not None
    return " ".join(finding.proposed.cautions + finding.proposed.always)


GUESTS = """\
interface GigabitEthernet0/1.13
 encapsulation dot1Q 13
 ip address 10.61.13.1 255.255.255.0
 ip access-group FROM-GUESTS in
 ip nat inside
!
"""
IMAGING = " ip address 10.40.20.1 255.255.255.0\n"
TRUNK = "switchport trunk allowed vlan"
AT = "ports.GigabitEthernet1/0/"
TOLD = {
    "the port towards the gateway": (
        (f"quarry-road/{CORE}", "10,20,30,40,50,99", "10,20,30,40,99", f"{AT}24.tagged"),
        ["core1 GigabitEthernet1/0/24 leads towards gw1, by way of gw1 ether2", "core1 first and gw1 ether2 last"],
    ),
    "a port to what is behind it": (
        (f"quarry-road/{CORE}", f"{TRUNK} 10,40,99", f"{TRUNK} 10,20,40,99", f"{AT}22.tagged"),
        [
            "core1 GigabitEthernet1/0/22 leads to ap1 lan1",
            "change ap1 lan1 first",
            "no longer carries imaging (VLAN 20)",
        ],
    ),
    "a native VLAN, which is the management VLAN": (
        (f"quarry-road/{CORE}", " switchport trunk native vlan 99\n", "", f"{AT}22.untagged"),
        ["untagged on core1 GigabitEthernet1/0/22", "far end first", "management (VLAN 99) is the one in which core1"],
    ),
    "the address of the device itself": (
        (f"quarry-road/{CORE}", "10.40.99.2 255", "10.40.99.12 255", "gateways.99.addresses"),
        ["The address by which core1 is reached changes", "come back by 10.40.99.2", "Enter it last", "reload in 10"],
    ),
    "a gateway": (
        (
            "harbour-bakery/gw1.cfg",
            "10.61.13.1 255.255.255.0\n ip",
            "10.61.13.1 255.0.0.0\n ip",
            "gateways.13.addresses",
        ),
        ["Terminals in guest (VLAN 13) are without their gateway"],
    ),
    "the carrier": (
        ("harbour-bakery/gw1.cfg", "203.0.113.2 255", "203.0.113.1 255", "uplinks.GigabitEthernet0/0.address"),
        ["off the carrier's network"],
    ),
    "a login that goes": (
        (f"quarry-road/{CORE}", "no ip http server", "ip http server", "management.logins"),
        ["switched off", "second session"],
    ),
    "an address that goes": (
        (
            "quarry-road/access1/show_running-config.txt",
            "interface Vlan1\n no ip address\n shutdown\n",
            "interface Vlan1\n ip address 192.168.77.3 255.255.255.0\n",
            "gateways.1",
        ),
        ["may be managed by it, whatever the plan says", "see that the new one answers first", "reload in 10"],
    ),
    "a kept-apart subnet whose interface comes back, told with its port": (
        (
            "harbour-bakery/gw1.cfg",
            GUESTS,
            "",
            "ports.GigabitEthernet0/1.tagged",
        ),
        ["guest (VLAN 13) is to be kept apart", "put it on first", "Terminals in guest (VLAN 13) are without"],
    ),
    "all VLANs at once": (
        (
            f"quarry-road/{CORE}",
            " description ap1\n switchport trunk native vlan 99\n switchport trunk allowed vlan 10,40,99\n",
            " description ap1\n switchport trunk native vlan 99\n",
            f"{AT}22.tagged",
        ),
        ["no longer carries imaging (VLAN 20), phones (VLAN 30), payment (VLAN 50), VLAN 1-9,11-19,21-29"],
    ),
    "a VLAN that goes": (
        ("quarry-road/access1/show_running-config.txt", " name guest\n", " name guest\n!\nvlan 60\n", "vlans.60"),
        ["still in VLAN 60", "look for them first"],
    ),
}


@pytest.mark.parametrize(("change", "told"), TOLD.values(), ids=TOLD)
def test_what_may_be_cut_off_is_said(change, told):
    said = cautions(correction(*change))
    for words in told:
        assert words in said
    assert ("reload in 10" in said) == ("still in VLAN 60" not in said)


GATEWAY = "ip default-gateway 10.40.99.1\n"
ROUTE = "ip route 0.0.0.0 0.0.0.0 10.40.99.1\n"


@pytest.mark.parametrize("lines", [GATEWAY, GATEWAY + ROUTE, ROUTE, ""])
def test_routing_is_not_switched_on_where_that_leaves_no_way_out(lines):
    site = conforming("quarry-road")
    core = edited(site.text(CORE), GATEWAY, lines)
    core = edited(core, "interface Vlan99\n", f"interface Vlan20\n{IMAGING}!\ninterface Vlan99\n")
    subnet = "terminals: 6, dhcp: none"
    plan = parse("plan.yaml", edited(plan_text("quarry-road"), subnet, f"{subnet}, gateway: {{on: core1}}").encode())
    report = replace(site, plan=plan).having(CORE, core).report()
    finding = next(f for f in report.findings if f.device == "core1" and f.setting == "gateways.20")
    if lines == GATEWAY:
        assert finding.proposed is None
        assert "there is no default route" in finding.by_hand
    else:
        assert finding.proposed is not None
        assert finding.proposed.commands == ["ip routing"]
        assert ("a default route must be there first" in cautions(finding)) == (GATEWAY in lines)


def test_a_port_that_is_switched_off_is_looked_at_first():
    change = (f"quarry-road/{CORE}", " shutdown\n", "", "ports.GigabitEthernet1/0/18.enabled")
    assert "check first what is connected" in cautions(correction(*change, below="interface GigabitEthernet1/0/18"))


def test_an_access_port_of_a_terminal_needs_no_safety_net():
    change = (f"quarry-road/{CORE}", "access vlan 20", "access vlan 40", f"{AT}9.untagged")
    said = cautions(correction(*change, below="interface GigabitEthernet1/0/9"))
    assert "core1 GigabitEthernet1/0/9 no longer carries guest (VLAN 40)" in said
    assert "reload in 10" not in said


def test_what_cuts_nothing_off_has_no_caution_of_its_own():
    finding = correction(f"quarry-road/{CORE}", " description x-ray\n", "", "ports.GigabitEthernet1/0/13.description")
    assert finding.proposed is not None
    assert finding.proposed.cautions == []


def test_what_every_proposal_says_is_that_it_is_one_and_was_not_sent():
    assert all(word in GENERAL for word in ("proposal", "nothing of it was sent", "reviewed", "another way in"))
