"""The audit of a site in one screen: plan and captures in, report out. No files, no wording, no formats."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Literal

import auditor
from auditor.app.arguments import age_limit
from auditor.areas import Expected, Reading, expected_of, read
from auditor.capture.interface import Captured, CaptureSource, NotCaptured, NotReadable
from auditor.compare import passphrase
from auditor.compare.age import Dated, dated, too_old_or_unsure
from auditor.compare.deviations import stale_deviations
from auditor.compare.findings import DeviceResult, result_of
from auditor.compare.judge import everything_unverified, judge
from auditor.core.report import (
    Capture,
    Counts,
    Doubt,
    Finding,
    Incomplete,
    Occasion,
    Outcome,
    PlanFileRef,
    Report,
    verdict_of,
)
from auditor.core.service import Services
from auditor.corrections import with_corrections
from auditor.network import KnownDevice, explained, overridden, services_of
from auditor.passphrases import is_passphrase, planned_in
from auditor.plan.loader import Plan
from auditor.resources import file_name
from auditor.unforeseen import LOG, Unforeseen, attempt

Audited = tuple[DeviceResult, KnownDevice]
"""A device's part of the report, and what is known of it for the services of the site."""

_MEANWHILE = "until then, check this device by hand"


def audit(
    plan: Plan,
    source: CaptureSource,
    *,
    occasion: Occasion = "routine",
    today: date | None = None,
    max_age: int | Literal["by occasion"] | None = "by occasion",
    environment: Mapping[str, str] | None = None,
    assumed_passphrases: Mapping[tuple[str, str], Callable[[], bool]] | None = None,
    notes: Sequence[str] = (),
    corrections: bool = True,
) -> Report:
    """Audit a site against its plan.

    Args:
        plan: what the network should be.
        source: where the devices' captures come from.
        occasion: why it is audited.
        today: the day of the audit, that approvals must reach; the calendar's if unsaid.
        max_age: how many days old a capture may be, ``None`` for any number; that of MAX_AGES if unsaid.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.
        assumed_passphrases: by device and Wi-Fi name, of a planned passphrase that is not in the environment: what
            tells whether the captured one is taken for it. It is asked where the capture shows one that could be
            compared.
        notes: what is remarkable about the captures of the site as a whole.
        corrections: whether to propose commands for each finding; for outputs that show none it is work for nothing.

    Returns:
        The report. A device that cannot be captured or read is a result in it, as is one that anything unforeseen
        goes wrong with.

    Raises:
        UsageError: there is no such occasion, or ``max_age`` is no number of days.
        PlanError: the plan has no devices.
        PlatformError: a platform's data are broken.
    """
    limit = age_limit(occasion, max_age)
    plan.require_devices()
    today = today or date.today()  # noqa: DTZ011 - approvals end with the day where the audit is run
    every = expected_of(plan)
    names = {name: expected.state.hostname or name for name, expected in every.items()}
    read_all = _read_devices(plan, every.values(), source)
    judging = [
        partial(
            _audit_device,
            plan,
            expected,
            found,
            names,
            today=today,
            aged=partial(too_old_or_unsure, today=today, occasion=occasion, max_age=limit),
            tell=partial(
                _passphrases, expected, os.environ if environment is None else environment, assumed_passphrases or {}
            ),
            corrections=corrections,
        )
        for expected, found in zip(every.values(), read_all, strict=True)
    ]
    unread = partial(_unread, plan, today=today)
    audited, services, findings = _together(plan, list(every.values()), judging, unread)
    results = [result for result, _ in audited]
    for result in results:
        LOG.info("%s: %s: %s", plan.data.reference or plan.data.site, result.report.name, result.report.outcome)
    report = _report(plan, results, services, findings, occasion=occasion, today=today, max_age=limit)
    return report.model_copy(update={"notes": list(notes)})


def _report(
    plan: Plan,
    results: list[DeviceResult],
    services: Services,
    findings: list[Finding],
    *,
    occasion: Occasion,
    today: date,
    max_age: int | None,
) -> Report:
    complete = all(result.report.complete for result in results)
    read_through = {result.report.name for result in results if result.report.outcome == "audited"}
    unverified = [item for result in results for item in result.unverified]
    return Report(
        site=plan.data.site,
        reference=plan.data.reference,
        occasion=occasion,
        verdict=verdict_of(complete, findings),
        complete=complete,
        plan=PlanFileRef(file=file_name(plan.file), sha256=plan.sha256),
        counts=sum((result.report.counts for result in results), Counts()),
        devices=[result.report for result in results],
        findings=[finding.model_copy(update={"number": n}) for n, finding in enumerate(findings, 1)],
        services=services,
        unverified=unverified,
        deviations=stale_deviations(plan, findings, unverified, read_through, today),
        audited_on=today,
        max_age=max_age,
        tool=f"auditor {auditor.__version__}",
    )


def _together(
    plan: Plan,
    every: list[Expected],
    judging: Sequence[Callable[[], Audited]],
    unread: Callable[[Expected, Outcome, str], Audited],
) -> tuple[list[Audited], Services, list[Finding]]:
    """Return all devices as they were audited, the site's services, and all findings in their light.

    What is unforeseen costs the one device that it comes from: where it comes up only when all are looked at together,
    the one that brings it up among others of which nothing is known. Where there is none, it is the site's.
    """

    def told(expected: Expected, fault: Unforeseen) -> Audited:
        return unread(expected, "not readable", f"{fault.text}; {_MEANWHILE}")

    def explain(audited: list[Audited]) -> tuple[Services, list[Finding]]:
        services = services_of(plan, {result.report.name: known for result, known in audited})
        return services, explained([finding for result, _ in audited for finding in result.findings], services)

    audited = []
    for expected, judge_it in zip(every, judging, strict=True):
        found = attempt(judge_it)
        audited.append(told(expected, found) if isinstance(found, Unforeseen) else found)
    whole = attempt(lambda: explain(audited))
    if isinstance(whole, Unforeseen):
        blank = [unread(expected, "not captured", "") for expected in every]
        for number, expected in enumerate(every):
            alone = [*blank[:number], audited[number], *blank[number + 1 :]]
            fault = attempt(partial(explain, alone))
            if isinstance(fault, Unforeseen):
                audited[number] = told(expected, fault)
        whole = explain(audited)
    return audited, *whole


def _unread(plan: Plan, expected: Expected, outcome: Outcome, reason: str, *, today: date) -> Audited:
    """Return the result of a device of which nothing could be read."""
    judgement = everything_unverified(expected, reason)
    result = result_of(plan, expected, judgement, None, outcome=outcome, reason=reason, captures=[], today=today)
    return result, KnownDevice(expected, None)


@dataclass(frozen=True)
class _DeviceRead:
    """A device's captures, and what was read of them."""

    device: str
    captured: Captured
    reading: Reading


def _read_device(plan: Plan, expected: Expected, source: CaptureSource) -> _DeviceRead | NotCaptured | NotReadable:
    captured = source.capture(expected.device)
    if isinstance(captured, NotCaptured | NotReadable):
        return captured
    captured = captured.of(expected.device, str(plan.data.devices[expected.device].address or ""), expected.platform)
    return _DeviceRead(expected.device, captured, read(expected.platform, captured.files))


def _read_devices(
    plan: Plan, every: Collection[Expected], source: CaptureSource
) -> list[_DeviceRead | NotCaptured | NotReadable | Unforeseen]:
    """Return what is read of devices; it overrides settings that do not work with what is read of their neighbours."""
    found = [attempt(partial(_read_device, plan, expected, source)) for expected in every]
    readings = {one.device: one.reading for one in found if isinstance(one, _DeviceRead)}
    for device, refs, why, setting in overridden(plan, {one.device: one for one in every}, readings):
        readings[device].override(refs, why, setting)
    return found


def _audit_device(
    plan: Plan,
    expected: Expected,
    found: _DeviceRead | NotCaptured | NotReadable | Unforeseen,
    names: dict[str, str],
    *,
    today: date,
    aged: Callable[[Dated], Iterable[Incomplete]],
    tell: Callable[[Reading], Callable[[str], bool | Doubt]],
    corrections: bool,
) -> Audited:
    if isinstance(found, NotCaptured):
        return _unread(plan, expected, "not captured", found.reason, today=today)
    if isinstance(found, NotReadable | Unforeseen):
        reason = found.text if isinstance(found, Unforeseen) else found.reason
        return _unread(plan, expected, "not readable", f"{reason}; {_MEANWHILE}", today=today)
    captured, reading = found.captured, found.reading
    day = dated(captured.known_days(reading.days), today)
    captures = [
        Capture(file=file.name, sha256=file.sha256, lines=len(lines.texts), days=days)
        for file, lines, days in zip(captured.files, reading.lines, day.looked_at, strict=True)
    ]
    reason = reading.problem or _another_device(reading, expected, names)
    outcome: Outcome
    shown: Reading | None
    if reason:
        judgement = everything_unverified(expected, reason)
        outcome, shown = "not readable", None
    else:
        judgement = judge(expected, reading, tell(reading))
        assert judgement.pair is not None
        outcome, shown = "audited", judgement.pair.reading
    result = result_of(
        plan,
        expected,
        judgement,
        shown,
        outcome=outcome,
        reason=reason or None,
        captures=captures,
        today=today,
        day=day,
        aged=aged(day),
        notes=captured.notes,
    )
    if corrections and shown is not None:
        result.findings = with_corrections(plan, judgement, shown, result.findings)
    pair = judgement.pair
    known = (
        KnownDevice(pair.expected, pair.observed, frozenset(judgement.unverified), pair.leads)
        if pair
        else KnownDevice(expected, None)
    )
    return result, known


def _another_device(reading: Reading, expected: Expected, names: dict[str, str]) -> str:
    """Return why a capture is that of another device of the plan; empty where it is not."""
    found = (reading.state.hostname or "").casefold()
    if found and found != names[expected.device].casefold():
        for device, name in names.items():
            if name.casefold() == found:
                return f"this is the capture of {device}"
    return ""


def _passphrases(
    expected: Expected,
    environment: Mapping[str, str],
    assumed_passphrases: Mapping[tuple[str, str], Callable[[], bool]],
    reading: Reading,
) -> Callable[[str], bool | Doubt]:
    """Return what tells whether a Wi-Fi name's passphrase is the planned one, or why that cannot be told."""

    def tell(ssid: str) -> bool | Doubt:
        variable = expected.passphrases[ssid]
        planned, stored = planned_in(environment, variable), reading.passphrases.get(ssid, [])
        said = assumed_passphrases.get((expected.device, ssid))
        if planned and not is_passphrase(planned):
            wrong = f"the passphrase of Wi-Fi {ssid} was not compared: what {variable} holds can be none"
            return Doubt(
                "not-given", f"{wrong}; set it to 8 to 63 printable ASCII characters, or 64 hexadecimal digits"
            )
        if planned:
            verdict = passphrase.matches(planned, ssid, stored)
        elif said:
            verdict = passphrase.assumed(said, stored)
        else:
            missing = f"the passphrase of Wi-Fi {ssid} was not compared: set {variable} in the environment to it"
            return Doubt("not-given", missing)
        if verdict is None and passphrase.damaged(stored):
            why = f"the stored passphrase of Wi-Fi {ssid} is damaged and cannot be read; set it again, or save again"
            return Doubt("not-understood", why)
        unseen = Doubt("never-shown", "the capture does not show the passphrase, or only stored irreversibly")
        return unseen if verdict is None else verdict

    return tell
