"""Approved deviations: which finding or overriding line one covers, and which ones cover nothing any more."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import Any

from auditor.core.renamed import setting_now
from auditor.core.report import Approval, Doubt, Finding, StaleDeviation, Unverified
from auditor.core.state import Setting
from auditor.plan.loader import Plan
from auditor.plan.schema import Deviation


def approval_of(
    deviations: Iterable[Deviation], device: str, setting: Setting, observed: Any, today: date
) -> Approval | None:
    """Return the approval that covers a finding: one that has not expired before one that has."""
    return _best([d for d in deviations if covers(d, device, setting, observed)], today)


def acceptance_of(
    deviations: Iterable[Deviation], device: str, setting: Setting, doubt: Doubt, today: date
) -> Approval | None:
    """Return the approval of the overriding lines that leave a setting open; ``None`` unless all of them have one."""
    if doubt.cause != "overriding":
        return None
    accepted = [d for d in deviations if d.device == device and d.line and _is_about(d, setting)]
    each = [_best([d for d in accepted if same_line(d.line, line)], today) for line in doubt.lines]
    first = each[0] if each else None
    return next((one for one in each if one is None or one.expired), first)


def same_line(one: str, other: str) -> bool:
    """Return whether two lines say the same: blanks around and between their words do not count."""
    return one.split() == other.split()


def _is_about(deviation: Deviation, setting: Setting) -> bool:
    return setting_now(deviation.setting) in (str(setting), str(setting.item), setting.area)


def _best(found: list[Deviation], today: date) -> Approval | None:
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
    if deviation.line or deviation.device != device or setting_now(deviation.setting) != str(setting):
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


def _names_line(deviation: Deviation, unverified: Unverified) -> bool:
    return bool(deviation.line) and any(same_line(deviation.line, line) for line in unverified.lines)


def stale_deviations(
    plan: Plan, findings: list[Finding], unverified: list[Unverified], audited: Collection[str], today: date
) -> list[StaleDeviation]:
    """Return approved deviations that have expired, or that match nothing on a device that was audited."""
    stale = []
    for deviation in plan.data.deviations:
        same = [f for f in findings if (f.device, f.setting) == (deviation.device, setting_now(deviation.setting))]
        matched = any(covers(deviation, f.device, f.place, f.observed) for f in same) or any(
            u.device == deviation.device and _is_about(deviation, u.setting) and _names_line(deviation, u)
            for u in unverified
        )
        gone = not matched and deviation.device in audited
        why = ""
        if deviation.until < today:
            why = f"expired on {deviation.until}: remove it"
            if not gone:
                present = " and still present" if matched else ""
                why = f"expired on {deviation.until}{present}: renew the approval or correct the device"
        elif gone and same and not deviation.line:
            approved, observed = (_in_words(value, same[0]) for value in (deviation.observed, same[0].observed))
            why = f"approved as {approved}, observed {observed}: correct the approval or the device"
        elif gone:
            matching = "overriding line" if deviation.line else "finding"
            why = f"no {matching} matches this approval: remove it"
        if why:
            stale.append(
                StaleDeviation(device=deviation.device, setting=deviation.setting, until=deviation.until, why=why)
            )
    return stale
