"""The finished view of a report: order, groups, counts and wording, done once for all formats.

Text that came from a device is made safe here: control and direction characters become visible. Escaping for
a format (HTML, Markdown) is that format's own affair.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

from auditor.core.report import CONSEQUENCES, Approval, Cause, Consequence, Correction, DeviceReport, Finding, Report
from auditor.core.values import duration_text
from auditor.reports.bearing_view import LIMITS, OVERRIDING, limits_of, overriding_of
from auditor.reports.cautions import cautions_of
from auditor.reports.deviation_entry import entry_of
from auditor.reports.headline import headline_of, verdict_words
from auditor.reports.sanitize import sanitize
from auditor.reports.service_view import Serving, serving_of

CONSEQUENCE_WORDS: dict[Consequence, str] = {
    "exposure": "Exposure: access that should be closed is open",
    "outage": "Outage: a planned service does not work",
    "upkeep": "Upkeep: no effect on users yet",
}
APPROVED = "Approved deviations, each with owner and end date"
CONSEQUENCE_SIGNS: dict[Consequence, str] = {"exposure": "▲", "outage": "■", "upkeep": "●"}
KIND_WORDS = {
    "absent": "planned but missing",
    "unplanned": "present but not planned",
    "differs": "different from the plan",
}
CORRECTION = {
    "title": "Proposed correction (a proposal to review; nothing was sent)",
    "undo": "Undo",
    "settles": "The same commands settle",
    "by hand": "No correction is proposed",
    "count": "The report's files propose a correction for {count} findings; nothing was sent to any device.",
    "count of one": "The report's files propose a correction for 1 finding; nothing was sent to any device.",
}
"""How proposals are spoken of."""
_WORD = re.compile(r"[\w.:/]+")
_MOST_TELLING = 3


@dataclass(frozen=True, slots=True)
class CorrectionView:
    """A proposal in words. ``always`` is said once for a device where there is little room."""

    commands: list[str]
    undo: list[str]
    cautions: list[str]
    always: list[str]
    settles: list[str]


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding in words.

    ``cause`` says of one that follows another what it goes with, ``entry`` would approve one that is not approved.
    """

    finding: Finding
    sign: str
    kind: str
    expected: str
    observed: str
    effect: str
    setting: str
    evidence: list[tuple[str, str]]
    approval: str
    concerns: str = ""
    cause: str = ""
    correction: CorrectionView | None = None
    by_hand: str = ""
    entry: str = ""

    @property
    def number(self) -> str:
        """Its number within the report, as it is written in front of it; empty where it has none."""
        return f"#{self.finding.number}" if self.finding.number else ""

    @property
    def telling(self) -> list[tuple[str, str]]:
        """The lines for a format with little room: those that say what differs go before the others."""
        differs = set(_WORD.findall(self.expected)) ^ set(_WORD.findall(self.observed))
        quiet = [differs.isdisjoint(_WORD.findall(text)) for _, text in self.evidence]
        chosen = sorted(range(len(self.evidence)), key=lambda number: (quiet[number], number))[:_MOST_TELLING]
        return [self.evidence[number] for number in sorted(chosen)]


@dataclass(frozen=True, slots=True)
class Group:
    """The findings of one consequence, or the approved ones; findings of one cause stand together."""

    consequence: Consequence | Literal["approved"]
    title: str
    findings: list[FindingView]


@dataclass(frozen=True, slots=True)
class UnverifiedView:
    """What cannot be verified on one device for one reason."""

    device: str
    why: str
    cause: Cause
    settings: list[str]


@dataclass(frozen=True, slots=True)
class View:
    """All that a format shows.

    Attributes:
        report: the report itself, for machine formats.
        title, headline, summary: what the report is about, its result, its figures.
        verdict: the same result in a word or two.
        groups: findings that count or are approved, by consequence; empty groups are left out.
        not_understood: lines that were not understood, as (device, place, text).
        problems: devices that were not audited or not completely, as (device, outcome, reason).
        limits, overriding: such lines of devices, as (device, sentence).
        remarks: how devices were read, where that is remarkable.
        deviations: approvals of the plan to look at, in words.
        cautions: the usual cautions that apply here.
        words: how proposals for the correction are spoken of.
        serving: what the network does for people: service paths, leaks, what is separate.
    """

    report: Report
    title: str
    verdict: str
    headline: str
    summary: str
    devices: list[DeviceReport]
    groups: list[Group]
    unverified: list[UnverifiedView]
    not_understood: list[tuple[str, str, str]]
    problems: list[tuple[str, str, str]]
    limits: list[tuple[str, str]]
    overriding: list[tuple[str, str]]
    remarks: list[str]
    deviations: list[str]
    cautions: list[str] = field(default_factory=list)
    serving: Serving = field(default_factory=Serving)
    words: dict[str, str] = field(default_factory=lambda: CORRECTION)

    @property
    def proposals(self) -> str:
        """How many findings have a correction, as a sentence; empty where none has."""
        count = sum(1 for finding in self.report.findings if finding.proposed)
        return CORRECTION["count of one" if count == 1 else "count"].format(count=count) if count else ""

    @property
    def entries(self) -> list[str]:
        """The entries for the plan that would approve what is not approved."""
        return [finding.entry for group in self.groups for finding in group.findings if finding.entry]

    @property
    def lists(self) -> list[tuple[str, list[str]]]:
        """The lists of sentences at the end, each with its title; those with nothing in them are left out."""
        every = [
            (OVERRIDING, [f"{device}: {text}" for device, text in self.overriding]),
            (LIMITS, [f"{device}: {text}" for device, text in self.limits]),
            ("How devices were read", self.remarks),
            ("Approvals to look at", self.deviations),
            ("Before you change anything", self.cautions),
        ]
        return [(title, texts) for title, texts in every if texts]


def view_of(report: Report) -> View:
    """Return the view of a report."""
    reference = f" ({sanitize(report.reference)})" if report.reference else ""
    counts = report.counts
    groups = _groups(report)
    counting = [group for group in groups if group.consequence != "approved"]
    return View(
        report=report,
        title=f"{sanitize(report.site)}{reference}",
        verdict=verdict_words(report.verdict, nonconforming=any(finding.counts for finding in report.findings)),
        headline=headline_of(report, counting[0].findings[0].effect if counting else ""),
        summary=(
            f"{counts.planned} planned settings: {counts.conforming} conforming, {counts.nonconforming} nonconforming, "
            f"{counts.unverified} unverified; {counts.unplanned} unplanned, {counts.approved} approved"
        ),
        devices=report.devices,
        groups=groups,
        unverified=_unverified(report),
        not_understood=[
            (device.name, f"{sanitize(line.file)}:{line.line}", sanitize(line.text))
            for device in report.devices
            for line in device.not_understood
        ],
        problems=[
            (device.name, device.outcome, sanitize(device.reason or "")) for device in report.devices if device.reason
        ],
        limits=limits_of(report.devices),
        overriding=overriding_of(report.devices),
        remarks=[sanitize(note) for note in report.notes]
        + [f"{device.name}: {sanitize(note)}" for device in report.devices for note in device.notes],
        deviations=[f"{d.device} {sanitize(d.setting)}: {sanitize(d.why)}" for d in report.deviations],
        cautions=cautions_of(report),
        serving=serving_of(report.services),
    )


def words(value: Any) -> str:
    """Return a value as people read it."""
    match value:
        case None:
            return "not present"
        case True:
            return "yes"
        case False:
            return "no"
        case "" | [] | ():
            return "none"
        case dict() if not value:
            return "none"
        case list():
            return ", ".join(words(item) for item in value)
        case dict():
            told = {key: _unit(key, item) for key, item in value.items() if item not in (None, "", [], {})}
            names = {key: key.removesuffix("_seconds").replace("_", " ") for key in told}
            return "; ".join(f"{names[key]} {words(item)}" for key, item in told.items()) or "present"
    return sanitize(str(value))


def _unit(field: str, value: Any) -> Any:
    """Return a value as people say it: a lease time with its units."""
    return duration_text(value) if field == "lease_seconds" and isinstance(value, int) else value


def _groups(report: Report) -> list[Group]:
    counting = [finding for finding in report.findings if finding.counts]
    groups = [
        Group(c, CONSEQUENCE_WORDS[c], _together(f for f in counting if f.consequence == c)) for c in CONSEQUENCES
    ]
    groups.append(Group("approved", APPROVED, _together(f for f in report.findings if not f.counts)))
    return [group for group in groups if group.findings]


def _together(findings: Iterable[Finding]) -> list[FindingView]:
    """Return findings with those of one cause next to each other; all but the first say what they go with."""
    causes: dict[str, list[Finding]] = {}
    for finding in findings:
        causes.setdefault(finding.cause or finding.id, []).append(finding)
    return [_finding(finding, found[0]) for found in causes.values() for finding in found]


def _finding(finding: Finding, first: Finding) -> FindingView:
    return FindingView(
        finding=finding,
        sign=CONSEQUENCE_SIGNS[finding.consequence],
        kind=KIND_WORDS[finding.kind],
        expected=words(_unit(finding.field, finding.expected)),
        observed=words(_unit(finding.field, finding.observed)),
        effect=sanitize(finding.effect),
        setting=sanitize(finding.setting),
        evidence=[(f"{sanitize(line.file)}:{line.line}", sanitize(line.text)) for line in finding.evidence],
        approval=_approval(finding.approved),
        concerns=_concerns(finding),
        cause="" if finding is first else f"goes with {first.device} {sanitize(first.setting)}",
        correction=_correction(finding.proposed),
        by_hand=sanitize(finding.by_hand),
        entry=entry_of(finding) if finding.counts else "",
    )


def _concerns(finding: Finding) -> str:
    """Say what of the plan a finding touches."""
    concerned = finding.concerned
    ports = ["1 port" if concerned.ports == 1 else f"{concerned.ports} ports"] if concerned.ports else []
    return "; ".join([*(sanitize(name) for name in concerned.wifi), *ports, *concerned.devices])


def _correction(correction: Correction | None) -> CorrectionView | None:
    if correction is None:
        return None
    return CorrectionView(
        commands=[sanitize(line) for line in correction.commands],
        undo=[sanitize(line) for line in correction.undo],
        cautions=[sanitize(text) for text in correction.cautions],
        always=correction.always,
        settles=[sanitize(setting) for setting in correction.settles],
    )


def _approval(approval: Approval | None) -> str:
    if approval is None:
        return ""
    ticket = f", ticket {sanitize(approval.ticket)}" if approval.ticket else ""
    by = f"{sanitize(approval.approved_by)}{ticket}: {sanitize(approval.reason)}"
    if approval.expired:
        return f"the approval expired on {approval.until} and no longer counts ({by})"
    return f"approved until {approval.until} by {by}"


def _unverified(report: Report) -> list[UnverifiedView]:
    grouped: dict[tuple[str, str, Cause], list[str]] = {}
    for item in report.unverified:
        accepted = f"; {_approval(item.approved)}" if item.approved else ""
        reason = (item.device, sanitize(item.why) + accepted, item.cause)
        grouped.setdefault(reason, []).append(sanitize(str(item.setting)))
    return [UnverifiedView(*reason, settings) for reason, settings in grouped.items()]
