"""Auditing again from an archive: its plan and captures are audited, and the whole archive is made again and compared.

What can be made is made and compared, whatever the manifest says of it: which that is, is decided here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import partial

from auditor.areas import expected_of
from auditor.capture.interface import Captured, NotCaptured, NotReadable
from auditor.core.report import Report
from auditor.errors import PlanError
from auditor.evidence import inputs
from auditor.evidence.changes import odds_of_changes
from auditor.evidence.comparing import FORMS, compare_reports, compare_whole, written_of
from auditor.evidence.integrity import first_of
from auditor.evidence.manifest import REPORT, TOOL, Manifest
from auditor.evidence.packing import files_of
from auditor.evidence.verification import Verification
from auditor.plan.loader import Plan, parse
from auditor.reports.headline import verdict_words
from auditor.reports.sanitize import sanitize
from auditor.reports.view import view_of


class _Kept:
    """The captures of the archive, as a source for the audit; what was given out is remembered."""

    def __init__(self, manifest: Manifest, files: dict[str, bytes]) -> None:
        self.captures: dict[str, Captured | NotCaptured | NotReadable] = {}
        self._devices = {device.name: device for device in manifest.devices}
        self._files = files

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture."""
        entry = self._devices.get(device)
        found = inputs.device_again(entry, self._files) if entry else NotCaptured("the evidence does not tell of it")
        self.captures[device] = found
        return found


def repeat(
    manifest: Manifest,
    files: dict[str, bytes],
    environment: Mapping[str, str],
    found: Verification,
    audit: Callable[..., Report],
) -> None:
    """Audit again, make all files of the archive again, and compare them with those that are there."""
    used = [manifest.plan.file, *(file.file for device in manifest.devices for file in device.files)]
    if missing := [name for name in dict.fromkeys(used) if name not in files]:
        found.altered += [f"{sanitize(name[:80])} is missing" for name in missing]
        return
    try:
        given = Report.model_validate_json(files[REPORT])
        plan = parse(manifest.plan.name, files[manifest.plan.file])
    except PlanError as error:
        found.differ(manifest.plan.file, f"not a plan that can be audited: {first_of(error)}")
        return
    except ValueError as error:
        found.differ(REPORT, f"not a report: {first_of(error)}")
        return
    kept = _Kept(manifest, files)
    options = inputs.again(manifest, environment)
    held = [name for name in options["environment"] if name in manifest.passphrases]
    assumed_passphrases = _assumed_passphrases(plan, given, set(manifest.passphrases) - set(held), found.passphrases)
    report = audit(plan, kept, **options, assumed_passphrases=assumed_passphrases)
    counting = any(finding.counts for finding in report.findings)
    found.verdict = verdict_words(report.verdict, nonconforming=counting)
    if given.since is not None:
        found.since = given.since.day.isoformat()
        for odd in odds_of_changes(given.since, report):
            found.differ(REPORT, odd)
        report = report.model_copy(update={"since": given.since})
    written = written_of(given, files, found)
    report = report.model_copy(
        update={"files": [FORMS[name].file for name in written if FORMS[name].file in given.files]}
    )
    compare_reports(manifest, files, view_of(report), found)
    whole = files_of(
        plan,
        kept.captures,
        report,
        inputs.as_then(manifest),
        reports={name: files.get(name, b"") for name in written},
        made_with={name: manifest.made_with.get(name, "not named") for name in written if FORMS[name].made_with},
    )
    compare_whole(files, whole, found)
    if found.differs:
        found.hints.append(f"Another build of {TOOL} or other versions of its libraries can be the cause, too.")
        if held and REPORT in found.differs:
            found.hints.append(f"If {' or '.join(held)} was changed since the audit, unset it and verify again.")


def _assumed_passphrases(
    plan: Plan, given: Report, variables: Collection[str], asked: list[str]
) -> dict[tuple[str, str], Callable[[], bool]]:
    """Return what tells the report's word on passphrases that cannot be compared here; ``asked`` gets who was asked."""
    wrong = {(finding.device, finding.setting) for finding in given.findings}

    def said(variable: str, fits: bool) -> bool:
        asked.append(variable)
        return fits

    return {
        (device, ssid): partial(said, variable, (device, f"ssids.{ssid}.passphrase_matches") not in wrong)
        for device, expected in expected_of(plan).items()
        for ssid, variable in expected.passphrases.items()
        if variable in variables
    }
