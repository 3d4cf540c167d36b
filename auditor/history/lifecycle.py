"""How findings fare from run to run. Pure functions: what was, and a report, in; what became of it, out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from auditor.core.changes import COURSES, Course, Since, Traced
from auditor.core.report import CONSEQUENCES, Consequence, DeviceReport, Finding, Kind, Report
from auditor.core.state import Setting


@dataclass(frozen=True, slots=True)
class Lifecycle:
    """A finding in one run.

    Attributes:
        key: the finding's id.
        row: where its texts are kept; 0 as long as they are not.
        seen: whether the run found it, rather than cannot tell.
        since: the day it was found first without being gone since.
        before: the last day it was found before that, if it had been gone.
    """

    key: str
    row: int
    device: str
    setting: str
    kind: Kind
    consequence: Consequence
    effect: str
    seen: bool
    since: date
    before: date | None


@dataclass(frozen=True, slots=True)
class Traces:
    """A run as far as tracing goes: its day and plan, whether each device was audited, its files, its findings."""

    day: date
    plan: str
    audited: Mapping[str, bool]
    captured: Mapping[str, str]
    lifecycles: Mapping[str, Lifecycle]


def lifecycles_of(
    report: Report, before: Mapping[str, Lifecycle], last_seen: Callable[[Iterable[str]], Mapping[str, date]]
) -> list[Lifecycle]:
    """Return the findings of a report as they go on from those of the run before.

    Args:
        report: the run.
        before: the run before, by the findings' ids.
        last_seen: tells of findings on which day an earlier run found them, if one did.
    """
    found = {finding.id: finding for finding in report.findings}
    earlier = last_seen([key for key in found if key not in before])
    lifecycles = [
        _lifecycle(finding, before.get(key), report.audited_on, earlier.get(key)) for key, finding in found.items()
    ]
    sight = _Sight(report)
    lifecycles += [
        replace(lifecycle, seen=False)
        for key, lifecycle in before.items()
        if key not in found and sight.misses(lifecycle)
    ]
    return lifecycles


def since_of(run: Traces, before: Traces) -> Since:
    """Return what became of the findings of two runs."""
    traced = [_traced(lifecycle, _course(lifecycle, before)) for lifecycle in run.lifecycles.values()]
    traced += [_traced(lifecycle, "gone") for key, lifecycle in before.lifecycles.items() if key not in run.lifecycles]
    traced.sort(key=_order)
    same = [device for device, files in run.captured.items() if files and files == before.captured.get(device)]
    return Since(day=before.day, plan_changed=run.plan != before.plan, findings=traced, recaptured=same)


def _order(traced: Traced) -> tuple[int, int, str, str]:
    return COURSES.index(traced.course), CONSEQUENCES.index(traced.consequence), traced.device, traced.setting


def _lifecycle(finding: Finding, before: Lifecycle | None, day: date, earlier: date | None) -> Lifecycle:
    return Lifecycle(
        key=finding.id,
        row=0,
        device=finding.device,
        setting=finding.setting,
        kind=finding.kind,
        consequence=finding.consequence,
        effect=finding.effect,
        seen=True,
        since=before.since if before else day,
        before=before.before if before else earlier,
    )


def _course(lifecycle: Lifecycle, before: Traces) -> Course:
    if not lifecycle.seen:
        return "not seen"
    if lifecycle.key in before.lifecycles:
        return "persists"
    if lifecycle.before is not None:
        return "came back"
    return "new" if before.audited.get(lifecycle.device, True) else "since unknown"


def _traced(lifecycle: Lifecycle, course: Course) -> Traced:
    return Traced(
        id=lifecycle.key,
        device=lifecycle.device,
        setting=lifecycle.setting,
        consequence=lifecycle.consequence,
        effect=lifecycle.effect,
        course=course,
        since=lifecycle.since,
        before=lifecycle.before,
    )


class _Sight:
    """What a report cannot tell: whether a finding that is not in it is gone.

    A device that is no longer planned, and a setting that conforms or is no longer planned, have no finding any more.
    """

    def __init__(self, report: Report) -> None:
        self._devices: dict[str, DeviceReport] = {device.name: device for device in report.devices}
        self._unverified: dict[str, list[Setting]] = {}
        for item in report.unverified:
            self._unverified.setdefault(item.device, []).append(item.setting)

    def misses(self, lifecycle: Lifecycle) -> bool:
        """Return whether the report could not have seen a finding."""
        device = self._devices.get(lifecycle.device)
        if device is None:
            return False
        if device.outcome != "audited":
            return True
        unverified = self._unverified.get(lifecycle.device, ())
        place = Setting.parse(lifecycle.setting)
        if lifecycle.kind == "unplanned":  # the plan says nothing of it: judge by the area that it is in
            return not device.complete and any(other.area == place.area for other in unverified)
        return any(_same(place, other) for other in unverified)


def _same(one: Setting, other: Setting) -> bool:
    """Return whether two settings are the same, or one is the item that the other is a field of."""
    return one.item == other.item and (one.field == other.field or not one.field or not other.field)
