"""How findings fare from run to run. Pure functions: what was, and a report, in; what became of it, out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from auditor.core.changes import COURSES, Course, Since, Traced
from auditor.core.report import CONSEQUENCES, Consequence, DeviceReport, Finding, Kind, Report
from auditor.core.state import Setting


@dataclass(frozen=True, slots=True)
class Track:
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
    """A run as far as tracing goes: its day, its plan, whether each device was audited, and its findings."""

    day: date
    plan: str
    audited: Mapping[str, bool]
    tracks: Mapping[str, Track]


def tracks_of(
    report: Report, before: Mapping[str, Track], last_seen: Callable[[Iterable[str]], Mapping[str, date]]
) -> list[Track]:
    """Return the findings of a report as they go on from those of the run before.

    Args:
        report: the run.
        before: the run before, by the findings' ids.
        last_seen: tells of findings on which day an earlier run found them, if one did.
    """
    found = {finding.id: finding for finding in report.findings}
    earlier = last_seen([key for key in found if key not in before])
    tracks = [_track(finding, before.get(key), report.audited_on, earlier.get(key)) for key, finding in found.items()]
    sight = _Sight(report)
    tracks += [replace(track, seen=False) for key, track in before.items() if key not in found and sight.misses(track)]
    return tracks


def since_of(run: Traces, before: Traces) -> Since:
    """Return what became of the findings of two runs."""
    traced = [_traced(track, _course(track, before)) for track in run.tracks.values()]
    traced += [_traced(track, "gone") for key, track in before.tracks.items() if key not in run.tracks]
    traced.sort(key=_order)
    return Since(day=before.day, plan_changed=run.plan != before.plan, findings=traced)


def _order(traced: Traced) -> tuple[int, int, str, str]:
    return COURSES.index(traced.course), CONSEQUENCES.index(traced.consequence), traced.device, traced.setting


def _track(finding: Finding, before: Track | None, day: date, earlier: date | None) -> Track:
    return Track(
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


def _course(track: Track, before: Traces) -> Course:
    if not track.seen:
        return "not seen"
    if track.key in before.tracks:
        return "persists"
    if track.before is not None:
        return "came back"
    return "new" if before.audited.get(track.device, True) else "first seen"


def _traced(track: Track, course: Course) -> Traced:
    return Traced(
        id=track.key,
        device=track.device,
        setting=track.setting,
        consequence=track.consequence,
        effect=track.effect,
        course=course,
        since=track.since,
        before=track.before,
    )


class _Sight:
    """What a report cannot tell: whether a finding that is not in it is gone.

    A device that is no longer planned, and a setting that conforms or is no longer planned, have no finding any more.
    """

    def __init__(self, report: Report) -> None:
        self._devices: dict[str, DeviceReport] = {device.name: device for device in report.devices}
        self._unverified: dict[str, list[str]] = {}
        for item in report.unverified:
            self._unverified.setdefault(item.device, []).append(item.setting)

    def misses(self, track: Track) -> bool:
        """Return whether the report could not have seen a finding."""
        device = self._devices.get(track.device)
        if device is None:
            return False
        if device.outcome != "audited":
            return True
        unverified = self._unverified.get(track.device, ())
        if track.kind == "unplanned":  # the plan says nothing of it: judge by the area that it is in
            area = Setting.parse(track.setting).area
            return not device.complete and any(Setting.parse(setting).area == area for setting in unverified)
        place = Setting.parse(track.setting)
        return any(_same(place, Setting.parse(setting)) for setting in unverified)


def _same(one: Setting, other: Setting) -> bool:
    """Return whether two settings are the same, or one is the item that the other is a field of."""
    return one.item == other.item and (one.field == other.field or not one.field or not other.field)
