"""From an audit to its evidence: captures are recorded without their secrets, and audited as they are recorded."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Collection, Mapping

from auditor.capture.interface import Captured, NotCaptured, Source
from auditor.capture.masking import Guarded
from auditor.evidence.archive import pack
from auditor.evidence.manifest import MANIFEST, REPORTS, SUMS, DeviceEntry, Entry, Manifest, Quoted, sums_of
from auditor.model.report import Report
from auditor.plan.loader import Plan
from auditor.reports.interface import Format
from auditor.reports.view import View

_STRANGE = re.compile(r"[^A-Za-z0-9._-]+")


class Recorded(Guarded):
    """Captures without their secrets; what was given out is remembered.

    An audit that is to be repeated from its evidence has to see what will be in the evidence. A seal stands where a
    passphrase stood, the same one every time.
    """

    def __init__(self, plan: Plan, source: Source, environment: Mapping[str, str] | None = None) -> None:
        super().__init__(plan, source, environment, always=True)
        self.captures: dict[str, Captured | NotCaptured] = {}

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return a device's capture without its secrets."""
        self.captures[device] = super().capture(device)
        return self.captures[device]


def evidence_of(
    recorded: Recorded,
    report: Report,
    view: View,
    written: Mapping[Format, bytes],
    environment: Mapping[str, str] | None = None,
) -> bytes:
    """Return the archive of an audit.

    Args:
        recorded: the captures that were audited.
        report: its result.
        view: the same as the formats saw it.
        written: the report in each format.
        environment: where passphrases were looked up; the process's environment if unsaid.

    Raises:
        ReportError: it is too large.
    """
    environment = os.environ if environment is None else environment
    plan = recorded.plan
    files: dict[str, bytes] = {}
    kept_plan = _put(files, "plan", report.plan.file, plan.raw)
    devices = [_device(files, name, found) for name, found in recorded.captures.items()]
    made_with = {}
    for form, data in written.items():
        files[f"{REPORTS}{form.file}"] = data
        made_with[f"{REPORTS}{form.file}"] = form.made_with(view)
    variables = {wifi.passphrase.env for wifi in plan.data.wifi.values() if wifi.passphrase}
    manifest = Manifest(
        tool=report.tool,
        site=report.site,
        reference=report.reference,
        occasion=report.occasion,
        audited_on=report.audited_on,
        plan=kept_plan,
        passphrases=sorted(name for name in variables if environment.get(name)),
        devices=devices,
        files=[
            Entry(
                file=name,
                sha256=hashlib.sha256(data).hexdigest(),
                size=len(data),
                made_with=made_with.get(name, ""),
            )
            for name, data in sorted(files.items())
        ],
    )
    files[MANIFEST] = (manifest.model_dump_json(indent=2) + "\n").encode()
    files[SUMS] = sums_of(files)
    return pack(files)


def _device(files: dict[str, bytes], name: str, found: Captured | NotCaptured) -> DeviceEntry:
    if isinstance(found, NotCaptured):
        return DeviceEntry(name=name, not_captured=found.reason)
    kept = [_put(files, "captures", file.name, file.data) for file in found.files]
    return DeviceEntry(name=name, files=kept, notes=list(found.notes))


def _put(files: dict[str, bytes], folder: str, name: str, data: bytes) -> Quoted:
    """Put a file into a folder of the archive, under a name that means nothing to anybody's file system."""
    place = f"{folder}/{'/'.join(_plain(part) for part in name.split('/'))}"
    file = _other_than(files, place)
    files[file] = data
    return Quoted(file=file, name=name)


def _plain(part: str) -> str:
    return _STRANGE.sub("_", part).lstrip(".")[:100] or "_"


def _other_than(taken: Collection[str], name: str) -> str:
    """Return a name that differs from others in more than capitals."""
    folded = {other.casefold() for other in taken}
    number, found = 1, name
    while found.casefold() in folded:
        number += 1
        found = f"{name}-{number}"
    return found
