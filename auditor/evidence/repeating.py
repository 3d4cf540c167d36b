"""Whether the captures and the plan of an archive give its report again."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Collection, Iterator, Mapping
from typing import Any

import auditor
from auditor.auditing import audit
from auditor.capture.interface import Captured, NotCaptured, NotReadable
from auditor.errors import EvidenceError, PlanError
from auditor.evidence.integrity import first_of
from auditor.evidence.manifest import MANIFEST, REPORT, REPORTS, Manifest
from auditor.evidence.verification import Verification
from auditor.model.report import Report
from auditor.plan.expected import expected_of
from auditor.plan.loader import Plan, parse
from auditor.reading.source import Source as File
from auditor.reports import FORMATS
from auditor.reports.harmless import harmless
from auditor.reports.view import View, view_of, words

_MOST_DIFFERENCES = 12
_LARGEST_WORKBOOK = 64 * 1024 * 1024


class _Kept:
    """The captures of the archive, as a source for the audit."""

    def __init__(self, manifest: Manifest, files: dict[str, bytes]) -> None:
        self._devices = {device.name: device for device in manifest.devices}
        self._files = files

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture."""
        entry = self._devices.get(device)
        if entry is None:
            return NotCaptured("the evidence does not tell of it")
        if entry.not_captured is not None:
            return NotCaptured(entry.not_captured)
        if entry.not_readable is not None:
            return NotReadable(entry.not_readable)
        return Captured([File(kept.name, self._files[kept.file]) for kept in entry.files], tuple(entry.notes))


def repeat(manifest: Manifest, files: dict[str, bytes], environment: Mapping[str, str], found: Verification) -> None:
    """Audit again and compare."""
    try:
        told = json.loads(files[REPORT])
        given = Report.model_validate_json(files[REPORT])
        plan = _plan(manifest, files)
    except PlanError as error:
        found.wrong.append(f"{manifest.plan.file} is no plan that could have been audited: {first_of(error)}")
        return
    except (ValueError, RecursionError) as error:
        found.wrong.append(f"{REPORT} is no report: {first_of(error)}")
        return
    found.wrong += _odds(manifest, given, plan)
    held = {name: environment[name] for name in manifest.passphrases if environment.get(name)}
    missing = sorted(set(manifest.passphrases) - set(held))
    believed = _believed(plan, given, missing)
    again = audit(
        plan,
        _Kept(manifest, files),
        occasion=manifest.occasion,
        today=manifest.audited_on,
        environment=held,
        believed=believed,
    )
    if given.since is not None:
        again = again.model_copy(update={"since": given.since})
        found.uncompared.append("what came and went since the audit before: the history that tells it is not in here")
    differences = list(_differences(_comparable(told), _comparable(json.loads(again.model_dump_json()))))
    found.wrong += [f"{REPORT}: {harmless(text)}" for text in differences[:_MOST_DIFFERENCES]]
    if len(differences) > _MOST_DIFFERENCES:
        found.wrong.append(f"{REPORT}: and {len(differences) - _MOST_DIFFERENCES} more differences")
    if not differences:
        found.proved.append(
            f"auditing the captures of the {len(manifest.devices)} devices again gives report.json again"
        )
    elif held:
        found.uncompared.append(
            f"whether {', '.join(held)} holds the same as then: where it was changed since, unset it; then the "
            "report's word is taken"
        )
    if believed:
        wifi = ", ".join(f"'{ssid}' on {device}" for device, ssid in believed)
        found.uncompared.append(
            harmless(
                f"the passphrase of Wi-Fi {wifi}: {', '.join(missing)} is not set here, the report's word was taken"
            )
        )
    _compare_reports(manifest, files, view_of(again), found)


def _odds(manifest: Manifest, given: Report, plan: Plan) -> list[str]:
    """Return where the manifest says something else than report and plan."""
    keys = ("tool", "site", "reference", "occasion", "audited_on")
    wrong = [f"{MANIFEST}: {key} is not the report's" for key in keys if getattr(manifest, key) != getattr(given, key)]
    if sorted(device.name for device in manifest.devices) != sorted(plan.data.devices):
        wrong.append(f"{MANIFEST}: its devices are not the plan's")
    return wrong


def _plan(manifest: Manifest, files: dict[str, bytes]) -> Plan:
    """Return the plan.

    Raises:
        PlanError: it is none.
        EvidenceError: it is a workbook that unfolds to more than any plan.
    """
    data = files[manifest.plan.file]
    if manifest.plan.name.lower().endswith(".xlsx") and zipfile.is_zipfile(io.BytesIO(data)):
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            if sum(entry.file_size for entry in book.infolist()) > _LARGEST_WORKBOOK:
                raise EvidenceError(f"{manifest.plan.file} unfolds to more than any plan")
    return parse(manifest.plan.name, data)


def _believed(plan: Plan, given: Report, variables: Collection[str]) -> dict[tuple[str, str], bool | str]:
    """Return what a report says of the passphrases that cannot be compared here."""
    unverified = {(item.device, item.setting): item.why for item in given.unverified}
    wrong = {(finding.device, finding.setting) for finding in given.findings}
    found: dict[tuple[str, str], bool | str] = {}
    for device, expected in expected_of(plan).items():
        for ssid, variable in expected.passphrases.items():
            if variable in variables:
                place = (device, f"ssids.{ssid}.passphrase_matches")
                found[device, ssid] = unverified.get(place) or place not in wrong
    return found


def _comparable(told: dict[str, Any]) -> dict[str, Any]:
    """Return a report without what says which version made it."""
    return {key: value for key, value in told.items() if key != "tool"}


def _differences(given: Any, again: Any, place: str = "") -> Iterator[str]:
    """Yield where two values of JSON differ, in words."""
    if isinstance(given, dict) and isinstance(again, dict):
        for key in dict.fromkeys([*given, *again]):
            yield from _differences(given.get(key), again.get(key), f"{place}.{key}" if place else key)
    elif isinstance(given, list) and isinstance(again, list) and len(given) == len(again):
        for number, (one, other) in enumerate(zip(given, again, strict=True)):
            yield from _differences(one, other, f"{place}[{number}]")
    elif isinstance(given, list) and isinstance(again, list):
        yield f"{place} has {len(given)} entries, auditing again gives {len(again)}"
    elif given != again or type(given) is not type(again):
        yield f"{place} is {words(given)}, auditing again gives {words(again)}"


def _compare_reports(manifest: Manifest, files: dict[str, bytes], view: View, found: Verification) -> None:
    """Make the report in each format again and compare its bytes, where the same version of the same tools is here."""
    same = manifest.tool == f"auditor {auditor.__version__}"
    forms = {f"{REPORTS}{form.file}": form for form in FORMATS}
    alike, unlike = [], []
    for entry in manifest.files:
        form = forms.get(entry.file)
        if not entry.file.startswith(REPORTS) or (entry.file == REPORT and found.wrong):
            continue
        if form is None or not same or entry.made_with is None or entry.made_with != form.made_with(view):
            unlike.append(entry.file.removeprefix(REPORTS))
        elif form.render(view) == files[entry.file]:
            alike.append(entry.file.removeprefix(REPORTS))
        else:
            found.wrong.append(f"{entry.file} is not what this audit gives")
    if alike:
        found.proved.append(f"it gives these files again, byte for byte: {', '.join(alike)}")
    if unlike:
        why = "they cannot be made here in the same way" if same else f"this is auditor {auditor.__version__}"
        found.uncompared.append(f"the contents of {harmless(', '.join(unlike))}: {why}")
