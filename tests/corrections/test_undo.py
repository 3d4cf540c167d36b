"""An undo takes back what was set, no more and no less: a port that is switched, an interface that gets an address.

Tried on each kind of port of each conforming capture, as it is and without the lines that only describe ports: what a
port's section still says then differs between dialects. What the commands do is what the stand-ins know of them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace

import pytest

from auditor import yamltree
from auditor.plan.loader import parse
from auditor.platforms import catalogue
from tests.compare.site import PLATFORM_SITES, SITES, Site, conforming, plan_text
from tests.corrections.proof import PLATFORMS, Drift, gained, lost
from tests.effort import share

DESCRIBES = re.compile(r"^\s*(?:set )?(?:interfaces? [^{}]*? )?(?:description|name|option label)[ ].*\n", re.MULTILINE)


def otherwise(name: str, device: str) -> Iterator[tuple[str, Site]]:
    """Yield the site under plans that switch one kind of port of a device off, or on."""
    site, plan = conforming(name), yamltree.parse(plan_text(name)).value
    kinds: dict[str, str] = {}
    for port, entry in plan["devices"][device].get("ports", {}).items():
        if "uplink" not in entry and "ignore" not in entry:
            kinds.setdefault(str(sorted(entry)), port)
    for port in share(kinds.values(), lambda port: f"{name} {device} {port}", quick=3):
        entry = plan["devices"][device]["ports"][port]
        changed = deepcopy(plan)
        changed["devices"][device]["ports"][port] = (
            {"access": next(iter(plan["subnets"]))} if "off" in entry else {"off": "true"}
        )
        yield f"{name} {device} {port}", replace(site, plan=parse("plan.yaml", json.dumps(changed).encode()))


def sparse(site: Site, device: str) -> Site:
    """Return a site without the lines of a device that describe its ports."""
    for name in site.files_of(device):
        site = site.having(name, DESCRIBES.sub("", site.text(name)))
    return site


@pytest.mark.parametrize("platform", PLATFORMS)
def test_the_undo_of_switching_a_port_keeps_every_captured_line(platform):
    tried = 0
    for name in (*SITES, *PLATFORM_SITES):
        for device, entry in conforming(name).plan.data.devices.items():
            if entry.platform != platform:
                continue
            for title, site in otherwise(name, device):
                for drift in (Drift(title, each, device, platform) for each in (site, sparse(site, device))):
                    for finding in drift.site.report().findings:
                        if finding.device == device and finding.setting.endswith(".enabled") and finding.proposed:
                            tried += 1
                            assert not lost(drift, finding), (title, finding.setting, finding.proposed.undo)
    assert tried


ADDRESS = re.compile(r"^( +)ip address \d.*\n", re.MULTILINE)


def without_address(site: Site, device: str) -> Iterator[Site]:
    """Yield the site with an interface of a device that has no address, and is on or off, or does not say so."""
    for name in site.files_of(device):
        text = site.text(name)
        for match in list(ADDRESS.finditer(text))[:2]:
            for lines in ("", "{0}no ip address\n", "{0}no ip address\n{0}shutdown\n"):
                yield site.having(name, text[: match.start()] + lines.format(match[1]) + text[match.end() :])


@pytest.mark.parametrize("platform", PLATFORMS)
def test_the_undo_of_an_address_leaves_the_interface_without_it(platform):
    if catalogue.get(platform).layout.kind != "indented":
        return
    tried = 0
    for name in (*SITES, *PLATFORM_SITES):
        site = conforming(name)
        for device, entry in site.plan.data.devices.items():
            if entry.platform != platform:
                continue
            for drift in (Drift("", each, device, platform) for each in without_address(site, device)):
                for finding in drift.site.report().findings:
                    if finding.device == device and finding.area == "gateways" and finding.proposed:
                        tried += 1
                        more = gained(drift, finding)
                        assert not [line for line in more if "." in line or line == "shutdown"], finding.proposed
                        assert set(lost(drift, finding)) <= {"address ip no"}  # which is said, or goes without saying
    assert tried or platform == "cisco_s300"  # its addresses are not taken back by commands
