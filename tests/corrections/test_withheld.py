"""What could cut off a site has no proposal: each class of it, on every platform where it exists.

The cases are in fixtures/corrections/withheld: a conforming capture with a change, the findings that have no
proposal with the name of the reason, and those that keep one. What the commands of a dialect do is
from memory of its manuals; what cuts a site off is common practice.
"""

from __future__ import annotations

import re

import pytest

from auditor.areas import expected_of, read
from auditor.compare.judge import judge
from auditor.core.report import Finding
from auditor.core.state import Setting
from auditor.corrections.position import Position
from auditor.corrections.withheld import WORDS, DeviceContext
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from tests.compare.site import Site, case_id, cases, changed, conforming, device_of
from tests.corrections.appliers import RULES
from tests.corrections.proof import PLATFORMS
from tests.effort import share

CASES = cases(*sorted((RULES / "withheld").glob("*.yaml")))
SNMP = [case for case in CASES if "management.snmp" in case.get("withheld", {})]


def found_on(site: Site, device: str) -> dict[str, Finding]:
    return {finding.setting: finding for finding in site.report().findings if finding.device == device}


def reason_of(finding: Finding) -> str | None:
    """Return the name of the reason that a finding has no proposal for."""
    for name, words in WORDS.items():
        parts = (re.escape(part) for part in re.split(r"{\w+}", words))
        if re.fullmatch(".+".join(parts), finding.by_hand):
            return name
    return None


@pytest.mark.parametrize("case", share(CASES, case_id, quick=4), ids=case_id)
def test_what_could_cut_off_a_site_is_withheld_with_its_reason(case):
    site, file = changed(case)
    found = found_on(site, device_of(file))
    for setting, reason in case.get("withheld", {}).items():
        assert found[setting].proposed is None, found[setting].proposed
        assert reason_of(found[setting]) == reason, found[setting].by_hand
    for setting in case.get("given", []):
        assert found[setting].proposed is not None, found[setting].by_hand


def test_every_reason_has_a_case():
    met = {reason for case in CASES for reason in case.get("withheld", {}).values()}
    assert met == set(WORDS)


def test_snmp_is_tried_on_every_platform_that_answers_it():
    tried = {changed(case)[0].plan.data.devices[device_of(case["file"].partition("/")[2])].platform for case in SNMP}
    lacking = {name for name in PLATFORMS if Setting("management", "", "snmp") in catalogue.get(name).lacks}
    assert tried == set(PLATFORMS) - lacking


@pytest.mark.parametrize("name", WORDS)
def test_a_reason_says_what_to_do_by_hand(name):
    advice = "Change|Check|Correct|Do|Give|Keep|Look|Move|Open|Point|Remove|Run|See|Set|Swap"
    assert re.search(rf"(?:^|[.:;,] |then )(?:{advice})\b[^.]*\.$", WORDS[name], re.IGNORECASE)


NEXT_HOPS = {
    "quarry-road": {"core1": "10.40.99.1", "ap1": "10.40.99.1"},
    "harbour-bakery": {"gw1": "203.0.113.1", "ap1": "10.61.9.1"},
    "fernhill-guesthouse": {"loft": "10.72.29.1", "barn": "10.72.29.1"},
    "tannery-studios": {"core1": "10.83.5.4", "edge1": "203.0.113.65"},
    "millrace-dental": {"core1": "10.88.99.1", "sw1": "10.88.99.1", "sw2": "10.88.99.1", "ap1": "10.88.99.1"},
    "arista_eos": {"core1": "198.51.100.1"},
    "aruba_aoscx": {"core1": "198.51.100.1"},
    "cisco_s300": {"core1": "198.51.100.1", "reading1": "10.72.99.1"},
    "fortinet": {"gw1": "203.0.113.5"},
    "hp_procurve": {"core1": "10.71.99.254", "bench1": "10.71.99.1"},
    "tplink_jetstream": {"core1": "198.51.100.1", "slip1": "10.73.99.1"},
    "vyos": {"gw1": "203.0.113.5"},
}
"""By site and device, the next hop of the default route in its conforming capture, as a person reads it."""


@pytest.mark.parametrize("network", NEXT_HOPS)
def test_the_next_hop_of_the_default_route_is_known(network):
    site = conforming(network)
    for device, hop in NEXT_HOPS[network].items():
        expected = expected_of(site.plan)[device]
        reading = read(expected.platform, [CaptureFile(name, site.files[name]) for name in site.files_of(device)])
        pair = judge(expected, reading, lambda _: True).pair
        assert pair is not None
        context = DeviceContext(pair, reading, catalogue.get(expected.platform), Position(site.plan, device), {})
        assert {found.hop for found in context.ways_out} == {hop}, device


@pytest.mark.parametrize("platform", PLATFORMS)
def test_a_platform_says_what_takes_sections_away(platform):
    assert catalogue.get(platform).correction.removals
