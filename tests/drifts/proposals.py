"""What the proposals for a drift must do, tried on the capture that they were made for.

The finding goes, none comes, and the undo brings it back. The stand-ins for devices know by themselves what a command
does (tests/corrections/appliers).
"""

from __future__ import annotations

from auditor.areas import read
from auditor.core.report import Correction, Finding
from auditor.corrections.cautions import GENERAL
from auditor.corrections.propose import BY_HAND
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from auditor.redact import REDACTED, redact
from tests.corrections.appliers import applied, rules_of
from tests.corrections.proof import Drift, found_in, seen, unread

ENTERED = ("gateways", "uplinks", "vlans", "ports")
"""The areas whose proposals are entered command by command."""


def proposed(drift: Drift) -> list[tuple[Finding, Correction]]:
    """Return the findings on the device that have a proposal, with it."""
    return [(finding, finding.proposed) for finding in drift.findings if finding.proposed is not None]


def each_finding_has_commands_or_the_reason_why_not(drift: Drift) -> None:
    for finding in drift.findings:
        assert (finding.proposed is None) == bool(finding.by_hand), finding.setting
        assert not finding.by_hand.startswith((BY_HAND["broken"], BY_HAND["no template"])), finding.setting


def as_many_findings_as_ever_have_a_proposal(drift: Drift) -> None:
    without = {finding.setting for finding in drift.findings if finding.proposed is None}
    assert without <= set(rules_of(drift.platform)["without"].get(drift.name, without if not drift.case else ()))


def a_proposal_settles_what_it_says_and_nothing_else(drift: Drift) -> None:
    before, unreadable = found_in(drift.report), unread(drift.report)
    for finding, proposal in proposed(drift):
        settled = {f"{drift.device} {each}" for each in (finding.setting, *proposal.settles)}
        after = drift.with_commands(finding, drift.site, proposal.commands)
        left = {key: told for key, told in before.items() if key not in settled}
        assert seen(after).found == left, (finding.setting, proposal.commands)
        assert seen(after).unread == unreadable, (finding.setting, proposal.commands)
        undone = drift.with_commands(finding, after, proposal.undo)
        assert seen(undone).found == before, (finding.setting, proposal.undo)
        assert seen(undone).unread == unreadable, (finding.setting, proposal.undo)


def all_proposals_of_a_device_together_settle_all_that_they_say(drift: Drift) -> None:
    site, left = drift.site, found_in(drift.report)
    for finding, proposal in proposed(drift):
        site = drift.with_commands(finding, site, proposal.commands)
        for each in (finding.setting, *proposal.settles):
            left.pop(f"{drift.device} {each}", None)
    assert seen(site).found == left


def every_proposal_changes_the_captured_text(drift: Drift) -> None:
    same = applied(drift.platform, drift.files, [])
    for finding, proposal in proposed(drift):
        commands = [drift.filled(line, finding) for line in proposal.commands]
        assert applied(drift.platform, drift.files, commands) != same, finding.setting


def every_proposal_says_that_it_is_one_and_was_not_sent(drift: Drift) -> None:
    assert {proposal.always[0] for _, proposal in proposed(drift)} <= {GENERAL}


def secrets(drift: Drift) -> set[str]:
    """Return what is secret in the capture of a device, and stands nowhere else in it."""
    found, readable = set(), []
    for text in drift.files.values():
        lines = text.split("\n")
        redacted = redact(drift.platform, lines)
        readable += redacted
        for line, shown in zip(lines, redacted, strict=True):
            before, mark, after = shown.partition(REDACTED)
            if mark and REDACTED not in after:
                found.add(line[len(before) : len(line) - len(after)].strip("\"' "))
    return {text for text in found if len(text) > 3 and not any(text in line for line in readable)}


def no_secret_of_a_capture_stands_in_a_proposal(drift: Drift) -> None:
    known = secrets(drift)
    for _, proposal in proposed(drift):
        for line in (*proposal.commands, *proposal.undo, *proposal.cautions):
            assert not [text for text in known if text in line], line


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


def no_command_of_a_proposal_cuts_off_whoever_enters_it(drift: Drift) -> None:
    """While a proposal is entered, whoever works on the device stays connected: each command is carried out by itself.

    Where nothing is in force before all of it is, there is nothing between. What stays is the device's own address, and
    the way in which its ports towards the gateway carry the VLAN that this address is in. Common practice, no source.
    """
    entered_by_step = [(finding, proposal) for finding, proposal in proposed(drift) if finding.area in ENTERED]
    if catalogue.get(drift.platform).correction.candidate or not entered_by_step:
        return
    before = connections(drift, drift.files)
    for finding, proposal in entered_by_step:
        for entered in steps(proposal.commands):
            after = applied(drift.platform, drift.files, entered)
            assert before <= connections(drift, after), (finding.setting, entered)
        both = before & connections(drift, after)
        for entered in steps(proposal.undo):
            assert both <= connections(drift, applied(drift.platform, after, entered)), (finding.setting, entered)


CHECKS = (
    each_finding_has_commands_or_the_reason_why_not,
    as_many_findings_as_ever_have_a_proposal,
    a_proposal_settles_what_it_says_and_nothing_else,
    all_proposals_of_a_device_together_settle_all_that_they_say,
    every_proposal_changes_the_captured_text,
    every_proposal_says_that_it_is_one_and_was_not_sent,
    no_secret_of_a_capture_stands_in_a_proposal,
    no_command_of_a_proposal_cuts_off_whoever_enters_it,
)
