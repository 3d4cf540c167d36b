"""Limits and overriding lines as people read them: like lines of a device in one sentence."""

from __future__ import annotations

from collections.abc import Iterable

from auditor.core.report import BearingLine, DeviceReport
from auditor.reports.sanitize import sanitize

LIMITS = "Limits: lines that can block a service and are not compared with the plan"
OVERRIDING = "Overriding lines: they can make planned settings untrue"
_MOST = 4


def limits_of(devices: Iterable[DeviceReport]) -> list[tuple[str, str]]:
    """Return the limits as (device, sentence)."""
    return [(device.name, text) for device in devices for text in _sentences(device.limits)]


def overriding_of(devices: Iterable[DeviceReport]) -> list[tuple[str, str]]:
    """Return the overriding lines that bear on planned settings as (device, sentence)."""
    return [(device.name, text) for device in devices for text in _sentences(device.overriding)]


def _sentences(lines: Iterable[BearingLine]) -> list[str]:
    same: dict[tuple[str, str], list[BearingLine]] = {}
    for line in lines:
        same.setdefault((line.why, " ".join(line.text.split())), []).append(line)
    sentences = []
    for (why, text), found in same.items():
        places = [f"{sanitize(line.file)}:{line.line}" for line in found[:_MOST]]
        more = f" and {len(found) - _MOST} more" if len(found) > _MOST else ""
        items = list(dict.fromkeys(item for line in found for item in line.bears_on))
        touched = sanitize(", ".join(items[:_MOST])) + (f" and {len(items) - _MOST} more" if len(items) > _MOST else "")
        on = f" (bears on {touched})" if items else ""
        sentences.append(f"{sanitize(text)}: {sanitize(why)}{on}; {', '.join(places)}{more}")
    return sentences
