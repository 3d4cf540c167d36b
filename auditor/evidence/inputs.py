"""What an audit was given besides its plan: written into the manifest, and given again to the audit that repeats it.

Whatever has a say in a report stands here, in both directions, and nowhere else: what concerns the site in ``given``
and ``again``, what concerns a device in ``device_given`` and ``device_again``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from auditor.capture.interface import Captured, NotCaptured, NotReadable
from auditor.core.days import Days
from auditor.core.report import Capture, Report
from auditor.evidence.manifest import CaptureEntry, DeviceEntry, Manifest, Quoted
from auditor.passphrases import is_passphrase, planned_in
from auditor.plan.loader import Plan
from auditor.reading.source import CaptureFile


def given(report: Report, plan: Plan, environment: Mapping[str, str]) -> dict[str, Any]:
    """Return what an audit was given, by the manifest's keys."""
    variables = {wifi.passphrase.env for wifi in plan.data.wifi.values() if wifi.passphrase}
    return {
        "occasion": report.occasion,
        "audited_on": report.audited_on,
        "max_age": report.max_age,
        "notes": report.notes,
        "passphrases": sorted(name for name in variables if is_passphrase(planned_in(environment, name))),
        "unusable": sorted(name for name in variables if _unusable(planned_in(environment, name))),
    }


def again(manifest: Manifest, environment: Mapping[str, str]) -> dict[str, Any]:
    """Return what ``audit`` is to be given, by its keywords; passphrases as far as the environment holds them."""
    return {
        "occasion": manifest.occasion,
        "today": manifest.audited_on,
        "max_age": manifest.max_age,
        "notes": manifest.notes,
        "environment": {
            **{name: held for name in manifest.passphrases if is_passphrase(held := planned_in(environment, name))},
            **dict.fromkeys(manifest.unusable, _NONE),
        },
    }


def as_then(manifest: Manifest) -> dict[str, str]:
    """Return an environment that says of passphrases what the manifest says, but for what they were."""
    return {**dict.fromkeys(manifest.passphrases, "it was set"), **dict.fromkeys(manifest.unusable, _NONE)}


_NONE = "?"
"""Stands for what a variable held that no passphrase can be."""


def _unusable(held: str) -> bool:
    return bool(held) and not is_passphrase(held)


def device_given(
    name: str,
    found: Captured | NotCaptured | NotReadable,
    captures: Sequence[Capture],
    put: Callable[[str, bytes], Quoted],
) -> DeviceEntry:
    """Return a device's entry; ``captures`` are its files in the report, ``put`` puts one of them into the archive.

    Of the days of a file only those are kept that the report tells: nobody could tell whether another was changed.
    """
    if isinstance(found, NotCaptured):
        return DeviceEntry(name=name, not_captured=found.reason)
    if isinstance(found, NotReadable):
        return DeviceEntry(name=name, not_readable=found.reason)
    told = [capture.days for capture in captures] or [{}] * len(found.files)
    kept = [
        CaptureEntry(
            **put(file.name, file.data).model_dump(),
            days={source: day for source, day in days.items() if source != "text"},
        )
        for file, days in zip(found.files, told, strict=True)
    ]
    return DeviceEntry(name=name, files=kept, notes=list(found.notes))


def device_again(entry: DeviceEntry, files: Mapping[str, bytes]) -> Captured | NotCaptured | NotReadable:
    """Return a device's capture from its entry."""
    if entry.not_captured is not None:
        return NotCaptured(entry.not_captured)
    if entry.not_readable is not None:
        return NotReadable(entry.not_readable)
    kept = [CaptureFile(each.name, files[each.file]) for each in entry.files]
    known = [each.days for each in entry.files]
    days = tuple(Days(day.get("record"), stated=day.get("stated"), file=day.get("file")) for day in known)
    return Captured(kept, tuple(entry.notes), days)
