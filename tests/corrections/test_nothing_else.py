"""What is off by what is beneath it, and what belongs to another item: a proposal mends that, or says so.

What the commands do is from memory of the dialects' manuals, and common practice.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.core.report import Correction, Finding
from auditor.corrections import propose
from auditor.corrections.propose import BY_HAND
from auditor.errors import RenderError
from auditor.plan.loader import parse
from tests.compare.site import conforming, device_of, edited, plan_text
from tests.corrections.proof import Drift, seen

CORE = "core1/show_running-config.txt"
ACCESS = "access1/show_running-config.txt"
VLANS = "core1/show_vlan_brief.txt"
ADDRESS = "10.40.40.1/24 interface"
SERVER = "address-pool=pool-guest interface=vlan40-guest"
SUBINTERFACE = " encapsulation dot1Q {}\n"


def drift(network: str, file: str, *changes: tuple[str, str]) -> Drift:
    """Return a site with some changes in one file of a device, as a case that proposals can be tried on."""
    site = conforming(network)
    text = site.text(file)
    for old, new in changes:
        text = edited(text, old, new)
    device = device_of(file)
    return Drift("", site.having(file, text), device, site.plan.data.devices[device].platform)


def way(finding: Finding) -> Correction:
    assert finding.proposed is not None
    return finding.proposed


def findings(case: Drift) -> dict[str, Finding]:
    return {f.setting: f for f in case.site.report().findings if f.device == case.device}


BENEATH = {
    "the interface that a server waits on": (
        (
            "quarry-road",
            "gw1.rsc",
            ("add interface=bridge name=vlan40", "add disabled=yes interface=bridge name=vlan40"),
        ),
        {"dhcp.10.40.40.0/24": ""},
    ),
    "the address that a server goes by": (
        ("quarry-road", "gw1.rsc", (f"add address={ADDRESS}", f"add address={ADDRESS.replace(' ', ' disabled=yes ')}")),
        {"dhcp.10.40.40.0/24": ""},
    ),
    "the bridge of all VLANs": (
        ("quarry-road", "gw1.rsc", ("name=bridge protocol", "disabled=yes name=bridge protocol")),
        {"dhcp.10.40.40.0/24": "", "dhcp.10.40.10.0/24": "", "gateways.40": "", "gateways.99": ""},
    ),
    "the port of subinterfaces": (
        ("harbour-bakery", "gw1.cfg", (" description sw1\n", " description sw1\n shutdown\n")),
        {"gateways.11": "ports.GigabitEthernet0/1.enabled", "gateways.13": "ports.GigabitEthernet0/1.enabled"},
    ),
    "the ports of a bundle": (
        (
            "tannery-studios",
            CORE,
            *(
                (f"interface GigabitEthernet1/0/{number}\n", f"interface GigabitEthernet1/0/{number}\n shutdown\n")
                for number in (11, 12)
            ),
        ),
        {"ports.Port-channel1.enabled": ""},
    ),
}


@pytest.mark.parametrize(("change", "beneath"), BENEATH.values(), ids=BENEATH)
def test_what_is_off_by_what_is_beneath_it_is_not_switched_on_itself(change, beneath):
    found = findings(drift(*change))
    for setting, mended_with in beneath.items():
        assert found[setting].proposed is None
        assert found[setting].by_hand == BY_HAND["beneath"]
        if mended_with:
            assert setting in way(found[mended_with]).settles


def test_an_interface_on_another_port_is_not_made_a_second_time():
    moved = ('set interface "port1"\n        set vlanid 40', 'set interface "port2"\n        set vlanid 40')
    found = findings(drift("millrace-dental", "fw1.cfg", moved))
    for setting in ("gateways.40", "ports.port1.tagged"):
        assert "lies on another port" in found[setting].by_hand


def test_a_port_is_not_switched_on_for_interfaces_that_lie_on_another_one():
    off = (
        'edit "internal3"\n        set vdom "root"\n',
        'edit "internal3"\n        set vdom "root"\n        set status down\n',
    )
    case = drift("fortinet", "gw1.cfg", off)
    wanted = edited(plan_text("fortinet"), "internal3: {trunk: [guest,", "internal3: {trunk: [guest, phones,")
    found = findings(replace(case, site=replace(case.site, plan=parse("plan.yaml", wanted.encode()))))
    assert "lies on another port" in found["ports.internal3.tagged"].by_hand
    assert way(found["ports.internal3.enabled"]).commands.count("        set status up") == 1


@pytest.mark.parametrize(("state", "undo"), [("suspended", " state suspend"), ("act/lshut", " shutdown")])
def test_a_vlan_that_is_off_is_never_deleted_by_the_undo(state, undo):
    active = "guest                            active"
    case = drift("quarry-road", VLANS, (active, active.replace("active", state)))
    assert way(findings(case)["vlans.40"]).undo == ["vlan 40", undo]


TRIED = {
    "a server on the interface of another scope": (
        ("quarry-road", "gw1.rsc", (SERVER, SERVER.replace("40-guest", "10-staff"))),
        "dhcp.10.40.40.0/24",
        ["/ip dhcp-server set [find name=dhcp-guest] interface=vlan40-guest"],
        ["dhcp.10.40.10.0/24.lease_seconds", "dhcp.10.40.10.0/24.pools"],
    ),
    **{
        f"a server whose pool is {told}": (
            ("quarry-road", "gw1.rsc", ("address-pool=pool-staff interface", f"{pool}interface")),
            "dhcp.10.40.10.0/24.pools",
            ["/ip dhcp-server set [find name=dhcp-staff] address-pool=pool-staff"],
            [],
        )
        for told, pool in (
            ("none by its word", "address-pool=static-only "),
            ("not there", "address-pool=pool-nowhere "),
            ("not said", ""),
        )
    },
    "one of two subinterfaces that are off": (
        (
            "harbour-bakery",
            "gw1.cfg",
            *((SUBINTERFACE.format(vid), f"{SUBINTERFACE.format(vid)} shutdown\n") for vid in (11, 14)),
        ),
        "gateways.14",
        ["interface GigabitEthernet0/1.14", " ip address 10.61.14.1 255.255.255.224", " no shutdown"],
        [],
    ),
    "the only subinterface that is off": (
        ("harbour-bakery", "gw1.cfg", (SUBINTERFACE.format(14), f"{SUBINTERFACE.format(14)} shutdown\n")),
        "gateways.14",
        ["interface GigabitEthernet0/1.14", " ip address 10.61.14.1 255.255.255.224", " no shutdown"],
        ["ports.GigabitEthernet0/1.tagged"],
    ),
    "the port of subinterfaces": (
        ("harbour-bakery", "gw1.cfg", (" description sw1\n", " description sw1\n shutdown\n")),
        "ports.GigabitEthernet0/1.enabled",
        ["interface GigabitEthernet0/1", " no shutdown"],
        ["gateways.11", "gateways.12", "gateways.13", "gateways.14", "gateways.9"],
    ),
}


@pytest.mark.parametrize(("change", "setting", "commands", "settles"), TRIED.values(), ids=TRIED)
def test_a_proposal_mends_what_is_wrong_and_settles_what_it_says(change, setting, commands, settles):
    case = drift(*change)
    finding = findings(case)[setting]
    assert way(finding).commands == commands
    assert way(finding).settles == settles
    before = seen(case.site).found
    settled = {f"{case.device} {each}" for each in (setting, *settles)}
    after = case.with_commands(finding, case.site, commands)
    left = {key: told[:2] for key, told in seen(after).found.items()}
    assert left == {key: told[:2] for key, told in before.items() if key not in settled}
    assert seen(case.with_commands(finding, after, way(finding).undo)).found == before


def test_the_pool_of_another_scope_is_never_edited():
    found = findings(drift("quarry-road", "gw1.rsc", (SERVER, SERVER.replace("40-guest", "10-staff"))))
    for setting in ("dhcp.10.40.10.0/24.pools", "dhcp.10.40.10.0/24.lease_seconds"):
        assert "server of another scope" in found[setting].by_hand


def test_a_pool_that_is_nowhere_is_made_by_hand():
    case = drift(
        "quarry-road",
        "gw1.rsc",
        ("address-pool=pool-staff interface", "interface"),
        ("add name=pool-staff ranges=10.40.10.50-10.40.10.199\n", ""),
    )
    assert "has no pool" in findings(case)["dhcp.10.40.10.0/24.pools"].by_hand


def test_the_text_of_an_error_within_stands_in_no_report(monkeypatch):
    def fails(*_args):
        raise RenderError("corrections.yaml: 'dict object' has no attribute 'pools'")

    monkeypatch.setattr(propose, "render_lines", fails)
    found = findings(drift("quarry-road", "gw1.rsc", (SERVER, SERVER.replace("40-guest", "10-staff"))))
    assert {finding.by_hand for finding in found.values()} == {BY_HAND["broken"]}


VLAN1 = ("interface Vlan1\n no ip address\n shutdown\n", "interface Vlan1\n ip address 192.168.77.3 255.255.255.0\n")
NO_VLAN99 = ("interface Vlan99\n ip address 10.40.99.3 255.255.255.0\n", "interface Vlan99\n no ip address\n")


def test_the_only_address_of_a_device_is_never_taken_away():
    found = findings(drift("quarry-road", ACCESS, VLAN1, NO_VLAN99))
    assert "may be managed at 192.168.77.3/24: set the planned address first" in found["gateways.1"].by_hand
    assert found["gateways.99"].proposed is not None


def test_two_addresses_that_both_go_do_not_leave_a_device_without_one():
    other = ("interface Vlan99\n", "interface Vlan20\n ip address 10.40.20.3 255.255.255.0\n!\ninterface Vlan99\n")
    case = drift("quarry-road", ACCESS, VLAN1, NO_VLAN99, other)
    own = "platform: cisco_ios\n    address: 10.40.99.3\n"
    plan = parse("plan.yaml", edited(plan_text("quarry-road"), own, own.partition("    ")[0]).encode())
    found = findings(replace(case, site=replace(case.site, plan=plan)))
    assert found["gateways.1"].by_hand == found["gateways.20"].by_hand == BY_HAND["only address"]
