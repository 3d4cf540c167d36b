"""From an audit to its evidence: captures are recorded without their secrets, and audited as they are recorded."""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Mapping
from functools import partial

from auditor.capture.interface import Captured, CaptureSource, NotCaptured, NotReadable
from auditor.capture.masking import Guarded
from auditor.core.report import Report
from auditor.errors import ReportError
from auditor.evidence import inputs
from auditor.evidence.archive import pack
from auditor.evidence.integrity import MAX_JSON
from auditor.evidence.manifest import MANIFEST, REPORT, REPORTS, SUMS, FileEntry, Manifest, Quoted, sum_of, sums_of
from auditor.plan.loader import Plan
from auditor.reports.interface import Format
from auditor.unforeseen import Unforeseen, attempt

_STRANGE = re.compile(r"[^A-Za-z0-9._-]+")


class Recorded(Guarded):
    """Captures without their secrets; what was given out is remembered.

    An audit that is to be repeated from its evidence has to see what will be in the evidence. A keyed digest stands
    where a passphrase stood, the same one every time.
    """

    def __init__(self, plan: Plan, source: CaptureSource, environment: Mapping[str, str] | None = None) -> None:
        super().__init__(plan, source, environment, always=True)
        self.captures: dict[str, Captured | NotCaptured | NotReadable] = {}

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture without its secrets; one that these cannot be taken out of is not readable."""
        found = attempt(partial(super().capture, device))
        self.captures[device] = NotReadable(found.text) if isinstance(found, Unforeseen) else found
        return self.captures[device]


def evidence_of(
    recorded: Recorded, report: Report, written: Mapping[Format, bytes], environment: Mapping[str, str] | None = None
) -> bytes:
    """Return the archive of an audit.

    Args:
        recorded: the captures that were audited.
        report: its result.
        written: the report in each format.
        environment: where passphrases were looked up; the process's environment if unsaid.

    Raises:
        ReportError: it is too large.
    """
    files = files_of(
        recorded.plan,
        recorded.captures,
        report,
        os.environ if environment is None else environment,
        reports={f"{REPORTS}{form.file}": data for form, data in written.items()},
        made_with={f"{REPORTS}{form.file}": form.made_with() for form in written if form.made_with},
    )
    if max(len(files.get(name, b"")) for name in (MANIFEST, REPORT)) > MAX_JSON:
        raise ReportError("there is too much for an archive of evidence: audit the site in parts")
    return pack(files)


def files_of(
    plan: Plan,
    captures: Mapping[str, Captured | NotCaptured | NotReadable],
    report: Report,
    environment: Mapping[str, str],
    *,
    reports: Mapping[str, bytes],
    made_with: Mapping[str, str],
) -> dict[str, bytes]:
    """Return the files of an archive by name, manifest and list of sums among them.

    Args:
        plan: what was audited against.
        captures: what was audited, by device.
        report: the result.
        environment: where passphrases were looked up.
        reports: the files of the report by their name in the archive.
        made_with: the libraries that have a say in them, by the same names.
    """
    files: dict[str, bytes] = {}
    kept_plan = _put(files, "plan", report.plan.file, plan.raw)
    put = partial(_put, files, "captures")
    devices = [inputs.device_given(name, captures[name], put) for name in plan.data.devices if name in captures]
    files.update(reports)
    manifest = Manifest(
        tool=report.tool,
        site=report.site,
        reference=report.reference,
        plan=kept_plan,
        **inputs.given(report, plan, environment),
        devices=devices,
        made_with=dict(sorted(made_with.items())),
        files=[FileEntry(file=name, sha256=sum_of(data), size=len(data)) for name, data in sorted(files.items())],
    )
    files[MANIFEST] = manifest.as_json()
    files[SUMS] = sums_of(files)
    return files


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
