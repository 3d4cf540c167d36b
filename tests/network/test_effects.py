"""What findings do to whom, on made-up sites with one slip each; forwarding is IEEE 802.1Q's, the words are ours."""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.core.report import Finding, Report
from auditor.core.service import ServicePath
from auditor.core.state import Setting
from auditor.plan.loader import parse
from auditor.reports.view import view_of
from tests.compare.site import Site, conforming, edited, plan_text

CORE = "core1/show_running-config.txt"
ACCESS = "access1/show_running-config.txt"


def quarry(*edits: tuple[str, str, str, str]) -> Site:
    """Return the clinic's site with changes in captures: file, below which line, what, and what instead."""
    site = conforming("quarry-road")
    for file, below, old, new in edits:
        site = site.having(file, edited(site.text(file), old, new, below))
    return site


def not_reached(report: Report) -> list[ServicePath]:
    return [path for path in report.services.paths if path.state != "reached"]


def only(findings: list[Finding]) -> Finding:
    (finding,) = findings
    return finding


def test_on_a_conforming_site_every_path_is_reached_and_nothing_leaks():
    services = quarry().audited().services
    assert {path.state for path in services.paths} == {"reached"}
    assert not services.leaks
    assert {part.state for part in services.separated} == {"separated"}
    assert {link.state for link in services.links} == {"as planned"}
    served = {(path.kind, path.device, *path.places) for path in services.paths if path.kind != "port"}
    assert served == {
        *(("wifi", ap, ssid) for ap in ("ap1", "ap2") for ssid in ("Quarry Staff", "Quarry Guest")),
        *(("device", name) for name in ("gw1", "core1", "access1", "ap1", "ap2")),
    }
    assert sum(len(path.places) for path in services.paths if path.kind == "port" and path.subnet == "phones") == 13


def test_a_vlan_that_stops_names_where_and_whom():
    report = quarry((CORE, "interface GigabitEthernet1/0/22", "vlan 10,40,99", "vlan 10,99")).audited()
    path = not_reached(report)[0]
    assert (path.kind, path.device, path.places, path.way) == ("wifi", "ap1", ["Quarry Guest"], "broken")
    assert [(fault.device, fault.place) for fault in path.faults] == [("core1", "GigabitEthernet1/0/22")]
    finding = only(report.findings)
    assert finding.effect == (
        "Quarry Guest on ap1 gets no address: guest (VLAN 40) does not pass core1 GigabitEthernet1/0/22 tagged"
    )
    assert finding.concerned.wifi == ["Quarry Guest on ap1"]
    link = next(link for link in report.services.links if link.state != "as planned")
    assert (link.state, link.stopped, link.observed) == ("stopped", "40", "10,99")


def test_what_hangs_behind_a_stop_is_counted():
    report = quarry((CORE, "interface GigabitEthernet1/0/21", "vlan 10,20,30,40,99", "vlan 20,30,40,99")).report(
        corrections=False
    )
    finding = only(report.findings)
    assert finding.effect.startswith(
        "Quarry Staff on ap2 and 5 ports of access1 (staff) get no address: staff (VLAN 10)"
    )
    assert (finding.concerned.ports, finding.concerned.wifi) == (5, ["Quarry Staff on ap2"])


def test_a_management_vlan_that_stops_is_told_as_a_device_out_of_reach():
    report = quarry((CORE, "interface GigabitEthernet1/0/21", "vlan 10,20,30,40,99", "vlan 10,20,30,40")).report(
        corrections=False
    )
    finding = only(report.findings)
    assert finding.effect.startswith("access1 and ap2 cannot be reached for management: management (VLAN 99)")
    assert finding.concerned.devices == ["access1", "ap2"]


def test_unlike_native_vlans_join_an_isolated_subnet_with_another():
    report = quarry((CORE, "interface GigabitEthernet1/0/22", "native vlan 99", "native vlan 40")).report(
        corrections=False
    )
    separated = {part.subnet: part for part in report.services.separated}
    assert (separated["guest"].state, separated["guest"].shared_with) == ("shared", ["management"])
    assert (separated["management"].shared_with, separated["staff"].state) == (["guest"], "separated")
    assert {finding.consequence for finding in report.findings} == {"exposure"}
    assert len({finding.cause for finding in report.findings}) == 1
    leak = next(leak for leak in report.services.leaks if leak.kind == "wifi")
    assert (leak.subnet, leak.device, leak.place) == ("management", "ap2", "Quarry Guest")
    assert all(("core1", finding.place) in leak.at for finding in report.findings)


def test_a_device_that_was_not_read_leaves_paths_unverified_and_says_which():
    site = quarry()
    report = site.without(*site.files_of("access1")).audited()
    assert {path.state for path in report.services.paths} == {"reached", "unverified"}
    for path in not_reached(report):
        assert path.device in ("access1", "ap2")
        assert [(fault.device, fault.why) for fault in path.faults] == [("access1", "was not read")]
    assert {part.state for part in report.services.separated} == {"unverified"}


def test_a_missing_vlan_leads_what_comes_of_it():
    site = quarry(
        (ACCESS, "", "vlan 40\n name guest\n!\n", ""),
        (ACCESS, "interface GigabitEthernet0/8", "10,20,30,40,99", "10,20,30,99"),
    )
    report = site.audited()
    gone = next(finding for finding in report.findings if finding.setting == "vlans.40")
    assert {finding.cause for finding in report.findings} == {gone.id}
    faults = next(path for path in not_reached(report) if path.kind == "wifi").faults
    assert [(fault.device, fault.place, fault.why) for fault in faults] == [
        ("access1", "", "does not have guest (VLAN 40)"),
        ("access1", "GigabitEthernet0/8", "does not carry guest (VLAN 40)"),
    ]


def test_a_port_that_also_has_a_vlan_too_much_has_a_cause_of_its_own():
    site = quarry(
        (ACCESS, "", "vlan 40\n name guest\n!\n", ""),
        (ACCESS, "interface GigabitEthernet0/8", "10,20,30,40,99", "10,20,30,99,200"),
    )
    causes = {finding.setting: finding.cause for finding in site.audited().findings}
    assert len(set(causes.values())) == len(causes)
    assert {"vlans.40", "ports.GigabitEthernet0/8.tagged"} <= causes.keys()


def test_a_relay_to_one_of_two_planned_servers_breaks_the_path():
    site = conforming("tannery-studios")
    report = site.having(CORE, edited(site.text(CORE), " ip helper-address 10.83.5.11\n", "")).audited()
    relayed = only(report.findings)
    assert (relayed.field, relayed.consequence) == ("relay_to", "outage")
    broken = [path for path in report.services.paths if path.dhcp == "broken"]
    assert {path.vlan for path in broken} == {int(relayed.key)}
    assert [fault.settings for path in broken for fault in path.faults] == [[relayed.place]] * len(broken)


def test_the_same_slip_on_many_ports_is_one_cause():
    site = conforming("quarry-road")
    text = site.text(CORE)
    for port in (9, 10, 11):
        text = edited(
            text, " switchport access vlan 20", " switchport access vlan 10", f"interface GigabitEthernet1/0/{port}"
        )
    report = site.having(CORE, text).audited()
    assert len(report.findings) == 3
    assert {finding.cause for finding in report.findings} == {report.findings[0].id}
    leaks = {(leak.subnet, leak.place) for leak in report.services.leaks}
    assert leaks == {("staff", f"GigabitEthernet1/0/{port}") for port in (9, 10, 11)}


def test_a_gateway_that_is_gone_breaks_all_that_it_serves():
    site = conforming("quarry-road")
    line = next(line for line in site.text("gw1.rsc").split("\n") if "10.40.40.1/24" in line)
    report = site.having("gw1.rsc", site.text("gw1.rsc").replace(f"{line}\n", "")).audited()
    finding = next(finding for finding in report.findings if finding.area == "gateways")
    assert finding.consequence == "outage"
    assert "affected: Quarry Guest on ap1 and ap2" in finding.effect
    broken = not_reached(report)
    assert {(path.way, path.gateway) for path in broken} == {("reached", "broken")}


def test_without_links_a_path_beyond_its_device_is_unverified_not_broken():
    site = quarry()
    plan = site.plan.data.model_copy(update={"links": []})
    report = replace(site, plan=replace(site.plan, data=plan)).audited()
    assert {(path.device, path.state) for path in report.services.paths} == {
        ("gw1", "reached"),
        *((name, "unverified") for name in ("core1", "access1", "ap1", "ap2")),
    }
    assert report.exit_code == 0


@pytest.mark.parametrize("name", ["harbour-bakery", "fernhill-guesthouse", "tannery-studios", "millrace-dental"])
def test_conforming_sites_reach_everything(name: str):
    report = conforming(name).audited()
    assert not not_reached(report)
    assert not report.services.leaks


def test_a_gateway_that_is_not_told_breaks_the_path():
    text = conforming("harbour-bakery").text("gw1.cfg")
    report = (
        conforming("harbour-bakery")
        .having("gw1.cfg", edited(text, "default-router 10.61.14.1", "default-router 10.61.14.2"))
        .audited()
    )
    assert {(path.subnet, path.dhcp, path.gateway) for path in not_reached(report)} == {("phones", "broken", "reached")}


def test_a_gateways_address_that_is_there_twice_breaks_the_path():
    report = quarry((CORE, "interface Vlan99", "ip address 10.40.99.2", "ip address 10.40.99.1")).report(
        corrections=False
    )
    broken = [path for path in not_reached(report) if path.subnet == "management"]
    assert {path.gateway for path in broken} == {"broken"}
    assert {fault.device for path in broken for fault in path.faults} == {"core1"}
    assert "affected: " in only(report.findings).effect


def test_apart_is_not_claimed_where_links_are_not_planned():
    site = quarry((CORE, "interface GigabitEthernet1/0/22", "native vlan 99", "native vlan 40"))
    links = [link for link in site.plan.data.links if "ap1 lan1" not in link]
    plan = replace(site.plan, data=site.plan.data.model_copy(update={"links": links}))
    assert {part.state for part in replace(site, plan=plan).audited().services.separated} == {"unverified"}


def test_an_unverified_passphrase_leaves_apart_what_is():
    report = quarry().audited(environment={})
    assert any(item.cause == "not-given" for item in report.unverified)
    assert {part.state for part in report.services.separated} == {"separated"}


def test_a_link_end_that_nobody_judges_is_named_where_it_stops_a_path():
    port = "GigabitEthernet1/0/22: {trunk: [staff, guest, management], native: management, description: ap1}"
    text = edited(plan_text("quarry-road"), port, "GigabitEthernet1/0/22: {ignore: true}")
    site = quarry((CORE, "interface GigabitEthernet1/0/22", "vlan 10,40,99", "vlan 10,99"))
    report = replace(site, plan=parse("plan.yaml", text.encode())).audited()
    assert report.verdict == "conforming"
    assert "a service path is broken" in view_of(report).headline
    path = not_reached(report)[0]
    assert [(fault.device, fault.place, fault.why) for fault in path.faults] == [
        ("core1", "GigabitEthernet1/0/22", "does not carry guest (VLAN 40)")
    ]


def test_nothing_is_exposed_on_a_port_that_is_off():
    site = conforming("quarry-road")
    text = site.text(CORE)
    start = text.index("interface GigabitEthernet1/0/22\n")
    end = text.index("!\n", start)
    report = site.having(CORE, f"{text[:start]}interface GigabitEthernet1/0/22\n shutdown\n{text[end:]}").report(
        corrections=False
    )
    assert "ports.GigabitEthernet1/0/22.enabled" in {finding.setting for finding in report.findings}
    assert "exposure" not in {finding.consequence for finding in report.findings}


def test_the_one_address_of_a_device_without_a_planned_one_is_not_judged():
    text = edited(plan_text("quarry-road"), "    address: 10.40.99.3\n", "")
    report = replace(quarry(), plan=parse("plan.yaml", text.encode())).audited()
    assert report.findings == []


def test_a_wifi_name_that_looks_like_a_field_stands_for_itself():
    """``ssids.Quarry Guest.enabled`` is the name of a network here, not the field of another: both stay exposures."""
    wifi = "  Quarry Guest:"
    twin = wifi + ".enabled: {subnet: guest, security: wpa2-personal, on: [ap1]}\n"
    text = edited(plan_text("quarry-road"), wifi, twin.replace(":.enabled", ".enabled") + wifi)
    site = quarry(("ap1/wireless", "option ssid 'Quarry Guest'", "option isolate '1'", "option isolate '0'"))
    report = replace(site, plan=parse("plan.yaml", text.encode())).report()
    told = {finding.place: finding.consequence for finding in report.findings}
    assert told[Setting("ssids", "Quarry Guest", "client_isolation")] == "exposure"
    assert told[Setting("ssids", "Quarry Guest.enabled")] == "outage"
