"""While a proposal is entered, whoever works on the device stays connected: each command is carried out by itself.

Where nothing is in force before all of it is, there is nothing between. What stays is the device's own address, and the
way in which its ports towards the gateway carry the VLAN that this address is in. Common practice, no source.
"""

from __future__ import annotations

import pytest

from auditor.platforms import catalogue
from auditor.reading import read
from auditor.reading.source import CaptureFile
from tests.corrections.appliers import applied
from tests.corrections.proof import PLATFORMS, Drift, drifts_of, whole_sites

AT_ONCE = [platform for platform in PLATFORMS if not catalogue.get(platform).correction.candidate]
"""Platforms on which a command is in force when it is entered."""


def links(drift: Drift) -> set[str]:
    """Return the ports that lead towards the gateway."""
    ends = drift.site.plan.link_ends()
    beside = [(a, b) for one, other in ends for a, b in ((one, other), (other, one))]
    near, known = {drift.site.plan.data.defaults.gateway: 0}, 0
    while known != len(near):
        known = len(near)
        for (a, _), (b, _) in beside:
            if a in near:
                near.setdefault(b, near[a] + 1)
    own = near.get(drift.device, 0)
    return {port for (device, port), (peer, _) in beside if device == drift.device and near.get(peer, own) < own}


def connections(drift: Drift, files: dict[str, str]) -> set[str]:
    """Return by what somebody may be connected: the own address, and how ports carry the VLAN that it is in."""
    plan = drift.site.plan.data
    own = plan.devices[drift.device].address
    if own is None:
        return set()
    state = read(drift.platform, [CaptureFile(name, text.encode()) for name, text in files.items()]).state
    texts = [text for gateway in state.gateways.values() for text in gateway.addresses]
    texts += [uplink.address or "" for uplink in state.uplinks.values()]
    found = {"own address"} if str(own) in {text.partition("/")[0] for text in texts} else set()
    vid = next((subnet.vlan for subnet in plan.subnets.values() if own in subnet.prefix), None)
    for port in links(drift):
        shown = state.ports.get(port)
        if shown is not None and shown.enabled:
            found |= {f"{port} untagged"} if shown.untagged == vid else set()
            found |= {f"{port} tagged"} if vid in shown.tagged else set()
    return found


def steps(commands: list[str]) -> list[list[str]]:
    """Return commands up to each one that takes effect; what stands between words does so where that ends."""
    between = "end" in commands
    return [commands[:n] for n, line in enumerate(commands, 1) if not between or line == "end"]


@pytest.mark.parametrize("platform", AT_ONCE)
def test_no_command_of_a_proposal_cuts_off_whoever_enters_it(platform):
    drifts = [*drifts_of(platform), *(drift for drift in whole_sites().values() if drift.platform == platform)]
    tried = 0
    for drift in drifts:
        files = {name: drift.site.text(name) for name in drift.site.files_of(drift.device)}
        before = connections(drift, files)
        for finding in drift.findings:
            if finding.proposed is None or finding.area not in ("gateways", "uplinks", "vlans", "ports"):
                continue
            for entered in steps(finding.proposed.commands):
                after = applied(platform, files, entered)
                tried += 1
                assert before <= connections(drift, after), (drift.name, finding.setting, entered)
            both = before & connections(drift, after)
            for entered in steps(finding.proposed.undo):
                undone = connections(drift, applied(platform, after, entered))
                assert both <= undone, (drift.name, finding.setting, entered)
    assert tried
