"""From a judgement to a device's part of the report: findings with evidence and approval, counts, verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from auditor.areas import Expected, Mismatch, Reading, Sighting, SiteNames, room
from auditor.compare.age import Dated
from auditor.compare.judge import Judgement
from auditor.core.renamed import setting_now
from auditor.core.report import (
    COMPLETE_CAUSES,
    CONSEQUENCES,
    Approval,
    Capture,
    Counts,
    DeviceReport,
    Finding,
    Incomplete,
    Outcome,
    QuotedLine,
    StaleDeviation,
    Unverified,
    finding_id,
    verdict_of,
)
from auditor.core.state import JUDGED_AREAS, Setting
from auditor.plan.loader import Plan
from auditor.plan.schema import Deviation
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
    unverified = [
        Unverified(device=expected.device, setting=setting, why=doubt.why, cause=doubt.cause)
        for setting, doubt in judgement.unverified.items()
    ]
    areas = _areas(judgement, findings)
    not_understood = reading.quoted_not_understood() if reading else []
    incomplete = [*_incomplete(judgement, not_understood), *aged]
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
        captured=day and day.captured,
        captures=captures,
        counts=sum(areas.values(), Counts()),
        areas=areas,
        not_understood=not_understood,
        limits=reading.bearing(Disposition.LIMIT) if reading else [],
        overriding=reading.bearing(Disposition.OVERRIDING) if reading else [],
        notes=[*notes, *(day.notes if day else ())],
    )
    return DeviceResult(report, findings, unverified)


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


def _incomplete(judgement: Judgement, not_understood: list[QuotedLine]) -> list[Incomplete]:
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
    others = dict.fromkeys(doubt for doubt in judgement.unverified.values() if doubt.cause not in told)
    return [*reasons, *(Incomplete(cause=doubt.cause, why=doubt.why) for doubt in others)]


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
        approved=_approval(plan.data.deviations, seen.device, m, today),
    )


def _approval(deviations: Iterable[Deviation], device: str, m: Mismatch, today: date) -> Approval | None:
    """Return the approval that covers a finding: one that has not expired before one that has."""
    found = [d for d in deviations if covers(d, device, m.setting, m.observed)]
    found.sort(key=lambda d: d.until, reverse=True)
    if not found:
        return None
    best = found[0]
    return Approval(
        reason=best.reason,
        approved_by=best.approved_by,
        ticket=best.ticket,
        until=best.until,
        expired=best.until < today,
    )


def covers(deviation: Deviation, device: str, setting: Setting, observed: Any) -> bool:
    """Return whether an approved deviation is about this finding, with this observed value.

    A whole item is not written down: it is approved as present.
    """
    if deviation.device != device or setting_now(deviation.setting) != str(setting):
        return False
    if isinstance(observed, dict) and not setting.field:
        return deviation.observed is None or isinstance(deviation.observed, dict) or deviation.observed == "present"
    return _normal(deviation.observed, observed) == _normal(observed, observed)


def _normal(value: Any, like: Any) -> str:
    """Return a value as text that compares by meaning."""
    if isinstance(value, dict):
        return ",".join(sorted(f"{key}={item}" for key, item in value.items()))
    if like is None:
        return "absent" if value in (None, "absent") else str(value)
    if isinstance(value, list):
        return ",".join(sorted(str(item) for item in value))
    return str(value)


def _in_words(value: Any, finding: Finding) -> str:
    """Return a value of a finding's setting as a deviation names it; what the finding observed tells its kind."""
    if value is None:
        return "present" if isinstance(finding.observed, dict) else "absent"
    if isinstance(value, dict):
        return (_normal(value, value) or "none") if finding.field else "present"
    return ", ".join(str(item) for item in value) if isinstance(value, list) else str(value)


def stale_deviations(plan: Plan, findings: list[Finding], audited: set[str], today: date) -> list[StaleDeviation]:
    """Return approved deviations that have expired, or that match no finding of a device that was audited."""
    stale = []
    for deviation in plan.data.deviations:
        same = [f for f in findings if (f.device, f.setting) == (deviation.device, setting_now(deviation.setting))]
        matched = any(covers(deviation, f.device, f.place, f.observed) for f in same)
        gone = not matched and deviation.device in audited
        why = ""
        if deviation.until < today:
            why = f"expired on {deviation.until}: remove it"
            if not gone:
                present = " and still present" if matched else ""
                why = f"expired on {deviation.until}{present}: renew the approval or correct the device"
        elif gone and same:
            approved, observed = (_in_words(value, same[0]) for value in (deviation.observed, same[0].observed))
            why = f"approved as {approved}, observed {observed}: correct the approval or the device"
        elif gone:
            why = "no finding matches this approval: remove it"
        if why:
            stale.append(
                StaleDeviation(device=deviation.device, setting=deviation.setting, until=deviation.until, why=why)
            )
    return stale
