"""From a judgement to a device's part of the report: findings with evidence and approval, counts, verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from auditor.areas import Expected, Mismatch, Reading, Sighting, SiteNames, room
from auditor.compare.age import Dated
from auditor.compare.deviations import acceptance_of, approval_of
from auditor.compare.judge import Judgement
from auditor.core.report import (
    COMPLETE_CAUSES,
    CONSEQUENCES,
    Capture,
    Counts,
    DeviceReport,
    Finding,
    Incomplete,
    Outcome,
    QuotedLine,
    Unverified,
    finding_id,
    verdict_of,
)
from auditor.core.state import JUDGED_AREAS
from auditor.plan.loader import Plan
from auditor.reading.source import Disposition


@dataclass(slots=True)
class DeviceResult:
    """A device's part of the report."""

    report: DeviceReport
    findings: list[Finding] = field(default_factory=list)
    unverified: list[Unverified] = field(default_factory=list)


def result_of(
    plan: Plan,
    expected: Expected,
    judgement: Judgement,
    reading: Reading | None,
    *,
    outcome: Outcome,
    reason: str | None,
    captures: list[Capture],
    today: date,
    day: Dated | None = None,
    aged: Iterable[Incomplete] = (),
    notes: Iterable[str] = (),
) -> DeviceResult:
    """Return a device's part of the report.

    Args:
        plan: the plan.
        expected: what the device should be.
        judgement: what became of its planned settings.
        reading: what was observed; ``None`` for a device of which nothing could be read.
        outcome: what became of the device as a whole.
        reason: why it was not audited.
        captures: the files that were read.
        today: the day that approvals must reach.
        day: the day of the capture.
        aged: why the audit is incomplete for that day.
        notes: what is remarkable about how it was captured.
    """
    seen = Sighting(expected.device, SiteNames(plan), reading.ineffective if reading else frozenset())
    findings = [_finding(plan, m, seen, reading, today) for m in judgement.mismatches]
    findings.sort(key=lambda f: (CONSEQUENCES.index(f.consequence), f.setting))
    unverified = _unverified(plan, expected.device, judgement, today)
    areas = _areas(judgement, findings)
    not_understood = reading.quoted_not_understood() if reading else []
    stored = reading.stored if reading else []
    incomplete = [*_incomplete(judgement, unverified, not_understood), *map(_stored, stored), *aged]
    if reason:
        incomplete = [Incomplete(cause="device", why=reason)]
    complete = not incomplete
    report = DeviceReport(
        name=expected.device,
        platform=expected.platform,
        role=expected.role,
        outcome=outcome,
        verdict=verdict_of(complete, findings),
        reason="; ".join(each.why for each in incomplete) or None,
        complete=complete,
        incomplete=incomplete,
        captured=day.captured if day else None,
        captures=captures,
        counts=sum(areas.values(), Counts()),
        areas=areas,
        not_understood=not_understood,
        limits=reading.bearing(Disposition.LIMIT) if reading else [],
        overriding=reading.bearing(Disposition.OVERRIDING, judgement.planned) if reading else [],
        notes=[*notes, *(day.notes if day else ())],
    )
    return DeviceResult(report, findings, unverified)


def _unverified(plan: Plan, device: str, judgement: Judgement, today: date) -> list[Unverified]:
    return [
        Unverified(
            device=device,
            setting=setting,
            why=doubt.why,
            cause=doubt.cause,
            lines=list(doubt.lines),
            approved=acceptance_of(plan.data.deviations, device, setting, doubt, today),
        )
        for setting, doubt in judgement.unverified.items()
    ]


def _areas(judgement: Judgement, findings: list[Finding]) -> dict[str, Counts]:
    """Return the counts of each area in which anything is planned or found."""
    counted = {}
    for area in JUDGED_AREAS:
        found = [f for f in findings if f.area == area]
        planned = judgement.areas[area]
        unplanned = sum(1 for f in found if f.kind == "unplanned")
        nonconforming = len(found) - unplanned
        unverified = sum(1 for setting in judgement.unverified if setting.area == area)
        if planned or found:
            counted[area] = Counts(
                planned=planned,
                conforming=planned - nonconforming - unverified,
                nonconforming=nonconforming,
                unverified=unverified,
                unplanned=unplanned,
                approved=sum(1 for f in found if not f.counts),
            )
    return counted


def _stored(line: QuotedLine) -> Incomplete:
    """Return that a file does not show what the device runs."""
    why = f"{line.file} is what the device starts with ({line.text.strip()}), which may differ from what it runs"
    return Incomplete(cause="not-saved", why=f"{why}: save its running configuration")


def _incomplete(
    judgement: Judgement, unverified: list[Unverified], not_understood: list[QuotedLine]
) -> list[Incomplete]:
    """Return why not everything was verified that could have been, each reason once."""
    reasons = []
    if not_understood:
        lines = "1 line" if len(not_understood) == 1 else f"{len(not_understood)} lines"
        reasons.append(Incomplete(cause="not-understood", why=f"{lines} of audited areas not understood"))
    reasons += [
        Incomplete(cause="not-saved", why=f"{area} not in this capture; {hint}")
        for area, hint in judgement.not_shown.items()
    ]
    told = {*COMPLETE_CAUSES, *(reason.cause for reason in reasons)}
    others = dict.fromkeys(
        (item.cause, item.why)
        for item in unverified
        if item.cause not in told and (item.approved is None or item.approved.expired)
    )
    return [*reasons, *(Incomplete(cause=cause, why=why) for cause, why in others)]


def _finding(plan: Plan, m: Mismatch, seen: Sighting, reading: Reading | None, today: date) -> Finding:
    area, setting = room(m.setting.area), str(m.setting)
    impact = area.impact(m, seen)
    return Finding(
        id=finding_id(seen.device, m.setting),
        device=seen.device,
        area=m.setting.area,
        setting=setting,
        key=m.setting.key,
        field=m.setting.field,
        kind=m.kind,
        expected=m.expected,
        observed=m.observed,
        consequence=impact.consequence,
        effect=area.text(impact),
        evidence=reading.evidence_of(m.setting) if reading else [],
        approved=approval_of(plan.data.deviations, seen.device, m.setting, m.observed, today),
    )
