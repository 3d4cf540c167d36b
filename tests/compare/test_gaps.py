"""What is judged, and what is unverified, where a dialect has gaps: whatever the reader can observe is judged.

Common practice, no source: a device that cannot be as planned is not as planned.
"""

from __future__ import annotations

from dataclasses import replace

from auditor.plan.loader import parse
from tests.compare.site import Site, conforming, edited, plan_text, unseen

Edit = tuple[str, str]


def site_of(name: str, *edits: Edit) -> Site:
    """Return a conforming site against a plan that is edited."""
    text = plan_text(name)
    for old, new in edits:
        text = edited(text, old, new)
    return replace(conforming(name), plan=parse("plan.yaml", text.encode()))


def findings(site: Site) -> dict[str, tuple[object, object]]:
    return {str(f.setting): (f.expected, f.observed) for f in site.audited().findings}


def cannot(site: Site) -> dict[str, str]:
    """Return the settings that are unverified because our templates cannot tell them, with the reasons."""
    report = site.audited()
    assert report.complete
    return {str(each.setting): each.why for each in unseen(report) if each.cause == "cannot"}


PHONES = "dhcp: {pool: 10.77.30.50-10.77.30.150, lease: 2h"


def test_one_scope_with_another_domain_than_the_server_has_is_nonconforming():
    site = site_of("arista_eos", (PHONES, f"{PHONES}, domain: phones.example"))
    assert findings(site) == {"dhcp.10.77.30.0/24.domain": ("phones.example", "cocoa.example")}
    (finding,) = site.report().findings
    assert finding.correction
    assert finding.correction.by_hand.startswith("the DHCP server has one domain for all subnets")
    none = site.having("core1.cfg", edited(site.text("core1.cfg"), "   dns domain name ipv4 cocoa.example\n", ""))
    assert {setting: found for setting, (_, found) in findings(none).items()} == {
        f"dhcp.10.77.{net}.domain": None for net in ("10.0/24", "30.0/24", "40.0/23")
    }


def test_options_that_cannot_be_read_are_unverified_and_leave_the_audit_complete():
    site = site_of("arista_eos", (PHONES, f"{PHONES}, options: {{252: proxy}}"))
    assert findings(site) == {}
    (why,) = [why for setting, why in cannot(site).items() if setting == "dhcp.10.77.30.0/24.options"]
    assert why == 'only options that have words of their own are read; check the others with "show dhcp server"'
    assert site.audited().exit_code == 0


def test_what_can_be_read_beside_it_is_judged():
    site = site_of("vyos", ("options: {42: 10.71.99.1, 66:", "options: {150: 10.71.99.5, 42: 10.71.99.1, 66:"))
    assert list(cannot(site)) == ["dhcp.10.71.10.0/24.options"]
    assert findings(site) == {}
    other = site.having("gw1.cfg", edited(site.text("gw1.cfg"), "boot.dyeworks.example", "boot2.dyeworks.example"))
    assert cannot(other) == {}
    assert list(findings(other)) == ["dhcp.10.71.10.0/24.options"]


def test_a_trunk_of_a_switch_chip_that_lost_its_only_tagged_vlan_is_nonconforming():
    site = conforming("fernhill-guesthouse")
    text = edited(site.text("barn/network"), "option ports '0t 1t'", "option ports '0t'")
    lost = site.having("barn/network", edited(text, "option ports '1t 2 3'", "option ports '2 3'"))
    assert findings(lost) == {"ports.switch0:1.mode": ("trunk", "access"), "ports.switch0:1.tagged": ("22-23", "")}


def test_a_port_that_nothing_uses_is_unverified_and_one_in_use_is_not():
    site = site_of("tannery-studios", ("lan4: {access: parking}", "lan4: {off: true}"))
    assert findings(site)["ports.lan4.enabled"] == (False, True)
    assert "ports.lan4.enabled" not in cannot(site)
    unused = site_of("tannery-studios", ("lan4: {access: parking}", "lan4: {access: parking}\n      lan5: {off: true}"))
    assert findings(unused) == {}
    assert list(cannot(unused)) == ["ports.lan5.enabled"]


def test_wifi_names_of_a_platform_whose_radios_are_not_read_are_unverified():
    wifi = "wifi: {Dyers: {subnet: guest, security: open, on: [gw1]}}\n\ndevices:\n"
    site = site_of("juniper_junos", ("devices:\n", wifi))
    assert findings(site) == {}
    told = {setting: why for setting, why in cannot(site).items() if setting.startswith("ssids.Dyers.")}
    assert told.keys() == {
        f"ssids.Dyers.{name}" for name in ("vlan", "security", "hidden", "client_isolation", "enabled")
    }
    assert set(told.values()) == {'Wi-Fi names are not read; check them with "show configuration wlan"'}
    assert [path.state for path in site.audited().services.paths if path.places == ["Dyers"]] == ["unverified"]


def test_an_uplink_that_the_platform_does_not_have_is_judged():
    site = site_of("arista_eos", ("uplink: {static: 198.51.100.2/30}", "uplink: pppoe"))
    assert findings(site)["uplinks.Ethernet24.method"] == ("pppoe", "static")
