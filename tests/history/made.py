"""Reports made by hand: a day, what was found, which devices were not audited. All names are invented."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any

from auditor.core.report import (
    Capture,
    CapturedOn,
    Counts,
    DeviceReport,
    Finding,
    Occasion,
    PlanFileRef,
    Report,
    Unverified,
    finding_id,
    verdict_of,
)
from auditor.core.state import Setting

DAY = date(2026, 1, 5)
DEVICES = ("gw1", "core1", "ap1")


def day(number: int) -> date:
    """Return the day of the audit with a number: they are a month apart, about."""
    return DAY + timedelta(days=30 * number)


def at(when: date) -> datetime:
    """Return the moment that a run of a day is kept at."""
    return datetime(when.year, when.month, when.day, 6, tzinfo=UTC)


def found(setting: str, device: str = "core1", **more: Any) -> Finding:
    """Return a finding."""
    return Finding(
        **{
            "id": finding_id(device, setting),
            "device": device,
            **Setting.parse(setting)._asdict(),
            "setting": setting,
            "kind": "differs",
            "expected": 10,
            "observed": 20,
            "consequence": "outage",
            "effect": f"{setting} of {device} is not as planned",
            **more,
        }
    )


def report(
    when: date = DAY,
    findings: Iterable[Finding] = (),
    *,
    site: str = "Mill Lane Surgery",
    reference: str = "MLS-01",
    missing: Iterable[str] = (),
    unverified: Iterable[tuple[str, str]] = (),
    incomplete: Iterable[str] = (),
    devices: Iterable[str] = DEVICES,
    occasion: Occasion = "routine",
    plan: str = "a" * 64,
    capture: str = "b" * 64,
    captured: Mapping[str, date] | None = None,
) -> Report:
    """Return the report of an audit; ``captured`` are the days of its devices' captures, where they are known."""
    missing, incomplete, all_found, captured = {*missing}, {*incomplete}, list(findings), captured or {}
    complete = not missing and not incomplete
    verdict = verdict_of(complete, all_found)
    return Report(
        site=site,
        reference=reference,
        occasion=occasion,
        verdict=verdict,
        complete=complete,
        plan=PlanFileRef(file="plan.yaml", sha256=plan),
        counts=Counts(planned=40, conforming=40 - len(all_found), nonconforming=len(all_found)),
        devices=[
            DeviceReport(
                name=name,
                platform="cisco_ios",
                role="access",
                outcome="not captured" if name in missing else "audited",
                verdict="incomplete" if name in {*missing, *incomplete} else "conforming",
                complete=name not in {*missing, *incomplete},
                captured=CapturedOn(on=captured[name], by="record") if name in captured else None,
                captures=[] if name in missing else [Capture(file=f"{name}.cfg", sha256=capture, lines=12)],
            )
            for name in devices
        ],
        findings=all_found,
        unverified=[
            Unverified(device=device, setting=setting, why="not shown", cause="not-saved")
            for device, setting in unverified
        ],
        audited_on=when,
        tool="auditor 0.1.0",
    )
