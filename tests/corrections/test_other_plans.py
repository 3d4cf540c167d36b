"""Proposals for a plan that was changed while the devices stayed: ports of another kind, scopes and addresses to make.

The captures conform to the plan as it was; each case changes one entry of it. What a proposal may do is as in
tests/drifts/proposals.py.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from auditor import yamltree
from auditor.corrections.propose import BY_HAND
from auditor.errors import PlanError
from auditor.plan.loader import parse
from tests.checks import hold
from tests.compare.site import PLATFORM_SITES, SITES, conforming, plan_text
from tests.corrections.appliers import rules_of
from tests.corrections.proof import PLATFORMS, Drift, seen
from tests.effort import share

pytestmark = pytest.mark.slow
Plan = dict[str, Any]
TRIED = [platform for platform in PLATFORMS if rules_of(platform).get("other_plans")]
"""The platforms whose rules say that they are tried in this way, too."""
ONE_OF = 4
"""Every which of the plans is tried at most: all of them take many minutes."""
PARTS = 16
"""In so many tests, as nobody can tell how many plans there are before they are made."""


def ports_otherwise(plan: Plan, device: str) -> Iterator[tuple[str, Plan]]:
    """Yield plans in which one port is another kind of port."""
    subnets = list(plan["subnets"])
    kinds: list[Plan] = [
        {"access": subnets[0]},
        {"access": subnets[-1]},
        {"trunk": subnets[:2]},
        {"trunk": subnets[:2], "native": subnets[-1]},
        {"trunk": [subnets[-1]], "native": subnets[0]},
        {"off": "true"},
    ]
    seen = set()
    for port, entry in plan["devices"][device]["ports"].items():
        if "uplink" in entry or "ignore" in entry or str(sorted(entry)) in seen:
            continue
        seen.add(str(sorted(entry)))
        for kind in kinds:
            changed = deepcopy(plan)
            changed["devices"][device]["ports"][port] = kind
            yield f"{port} {kind}", changed


def subnets_otherwise(plan: Plan, device: str) -> Iterator[tuple[str, Plan]]:
    """Yield plans in which a subnet is served otherwise, or a setting of the device is another."""
    for name, subnet in plan["subnets"].items():
        dhcp = subnet.get("dhcp")
        if isinstance(dhcp, dict) and "pool" in dhcp:
            for key, value in (("lease", "3d"), ("dns", ["192.0.2.7", "192.0.2.8"]), ("domain", "other.example")):
                changed = deepcopy(plan)
                changed["subnets"][name]["dhcp"][key] = value
                yield f"{name} {key}", changed
            changed = deepcopy(plan)
            changed["subnets"][name]["dhcp"] = "none"
            yield f"{name} served no more", changed
        vlan = deepcopy(plan)
        vlan["subnets"][name]["vlan"] = 77
        yield f"{name} in VLAN 77", vlan
    others: Plan = {"ntp": ["192.0.2.9"], "syslog": ["192.0.2.9"], "logins": ["ssh", "https"], "snmp": True}
    for key, value in others.items():
        changed = deepcopy(plan)
        changed["devices"][device].setdefault("management", {})[key] = value
        yield f"{key} {value}", changed


@cache
def plans() -> list[tuple[str, str, str, Plan]]:
    """Return plans that are not those of the captures: site, device, what is another in it, and the plan."""
    found = []
    for name in (*SITES, *PLATFORM_SITES):
        plan = yamltree.parse(plan_text(name)).value
        for device, entry in plan["devices"].items():
            if entry["platform"] in TRIED:
                every = (*ports_otherwise(plan, device), *subnets_otherwise(plan, device))
                found += [(name, device, told, changed) for told, changed in every[::ONE_OF]]
    return share(found, lambda each: " ".join(each[:3]), quick=12, ci=3)


def drift(name: str, device: str, told: str, plan: Plan) -> Drift | None:
    """Return a device as it is under another plan; none where that is no plan."""
    site = conforming(name)
    try:
        other = replace(site, plan=parse("plan.yaml", json.dumps(plan).encode()))
    except PlanError:
        return None
    platform = site.plan.data.devices[device].platform
    return Drift(f"{platform}: {name} {device}: {told}", other, device, platform)


def a_proposal_settles_what_it_says_and_nothing_else(drift: Drift) -> None:
    before = seen(drift.site).found
    for finding in drift.report.findings:
        if finding.device != drift.device or finding.proposed is None:
            assert finding.device != drift.device or not finding.by_hand.startswith(BY_HAND["broken"]), finding.by_hand
            continue
        settled = {f"{drift.device} {each}" for each in (finding.setting, *finding.proposed.settles)}
        after = drift.with_commands(finding, drift.site, finding.proposed.commands)
        # A trunk that carries all is seen to carry what exists: it may differ in another way than before.
        assert {k: v[:2] for k, v in seen(after).found.items()} == {
            k: v[:2] for k, v in before.items() if k not in settled
        }, finding.proposed.commands
        assert seen(after).unread == seen(drift.site).unread, finding.proposed.commands
        undone = drift.with_commands(finding, after, finding.proposed.undo)
        assert seen(undone).found == before, finding.proposed.undo


def all_proposals_of_a_device_together_settle_all_that_they_say(drift: Drift) -> None:
    site, left = drift.site, set(seen(drift.site).found)
    for finding in drift.report.findings:
        if finding.device == drift.device and finding.proposed is not None:
            site = drift.with_commands(finding, site, finding.proposed.commands)
            left -= {f"{drift.device} {each}" for each in (finding.setting, *finding.proposed.settles)}
    assert set(seen(site).found) == left


@pytest.mark.parametrize("part", range(PARTS))
def test_proposals_for_another_plan_settle_what_they_say_and_nothing_else(part):
    checks = (
        a_proposal_settles_what_it_says_and_nothing_else,
        all_proposals_of_a_device_together_settle_all_that_they_say,
    )
    tried = [case for each in plans()[part::PARTS] if (case := drift(*each))]
    assert tried
    for case in tried:
        hold(checks, case, case.name)
