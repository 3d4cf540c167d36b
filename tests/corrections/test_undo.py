"""A port that is switched off or on again has every line that was captured: its undo takes back what was set, no more.

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
from tests.compare.site import PLATFORM_SITES, SITES, Site, conforming, plan_text
from tests.corrections.proof import PLATFORMS, Drift, lost

DESCRIBES = re.compile(r"^\s*(?:set )?(?:interfaces? [^{}]*? )?(?:description|name|option label)[ ].*\n", re.MULTILINE)


def otherwise(name: str, device: str) -> Iterator[tuple[str, Site]]:
    """Yield the site under plans that switch one kind of port of a device off, or on."""
    site, plan = conforming(name), yamltree.parse(plan_text(name)).value
    seen = set()
    for port, entry in plan["devices"][device].get("ports", {}).items():
        kind = str(sorted(entry))
        if "uplink" in entry or "ignore" in entry or kind in seen:
            continue
        seen.add(kind)
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
