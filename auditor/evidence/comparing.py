"""The files of an archive beside those that were made again: what differs, where, and what could not be compared."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from auditor.core.report import Report
from auditor.errors import ReportError
from auditor.evidence.integrity import json_of
from auditor.evidence.manifest import MANIFEST, REPORT, REPORTS, TOOL, Manifest
from auditor.evidence.verification import Verification
from auditor.reports import KNOWN
from auditor.reports.interface import Format
from auditor.reports.sanitize import sanitize
from auditor.reports.view import View, words

_LONGEST = 80
"""Most characters that are shown of a key or a value."""
FORMS = {f"{REPORTS}{form.file}": form for form in KNOWN}
"""What can be made again, by its name in the archive."""


def written_of(given: Report, files: dict[str, bytes], found: Verification) -> list[str]:
    """Return the reports that were written, by report.json's word or by being there; both must say the same."""
    told = {f"{REPORTS}{file}" for file in given.files}
    for name in FORMS:
        if name in files and name not in told:
            found.differ(name, "report.json does not say that it was written")
    found.unwritten = [name for name in FORMS if name not in told and name not in files]
    return [name for name in FORMS if name not in found.unwritten]


def compare_reports(manifest: Manifest, files: dict[str, bytes], view: View, found: Verification) -> None:
    """Make each report that is there again and compare its bytes."""
    for name in [name for name in FORMS if name in files]:
        form, given = FORMS[name], files[name]
        try:
            made = form.render(view) if form.installed() else None
        except ReportError as error:
            found.uncompared[name] = sanitize(str(error))
            continue
        if made is None:
            found.uncompared[name] = "it cannot be made here: install auditor with the extra for it"
        elif made == given:
            continue
        elif name == REPORT:
            _differ_as_json(name, given, made, found)
        elif (why := _excuse(form, view, manifest.made_with.get(name, ""))) and not _other_contents(form, given, made):
            found.uncompared[name] = why
        else:
            found.differ(name)


def _excuse(form: Format, view: View, library: str) -> str:
    """Return why the bytes of a report may differ though nothing was changed; empty where nothing explains it."""
    here = form.made_with() if form.made_with else library
    if library and library != here:
        return f"made with {library}, here is {here}"
    return "the fonts of the machine that made it have a say in it" if form.of_machine(view) else ""


def _other_contents(form: Format, given: bytes, made: bytes) -> bool:
    """Return whether a report is known to say something else, whichever version of its library made it."""
    return form.contents is not None and form.contents(given) != form.contents(made)


def compare_whole(files: dict[str, bytes], whole: dict[str, bytes], found: Verification) -> None:
    """Compare which files there are, and the manifest, with the archive as it is made again."""
    for name in files:
        if name not in whole:
            made = name.startswith(REPORTS)
            found.differ(name, f"{TOOL} makes no such report" if made else "it belongs to no part of the audit")
    for name in whole:
        if name not in files:
            found.differ(name, "it is not there, and report.json says that it was written")
    if files.keys() == whole.keys() and files[MANIFEST] != whole[MANIFEST]:
        _differ_as_json(MANIFEST, files[MANIFEST], whole[MANIFEST], found)


def _differ_as_json(name: str, given: bytes, again: bytes, found: Verification) -> None:
    found.differ(name, *(list(_differences(json_of(given), json.loads(again))) or ["written in another way"]))


def _differences(given: Any, again: Any, place: str = "") -> Iterator[str]:
    """Yield where two values of JSON differ, in words."""
    if isinstance(given, dict) and isinstance(again, dict):
        for key in dict.fromkeys([*given, *again]):
            here = f"{place}.{sanitize(key[:_LONGEST])}" if place else sanitize(key[:_LONGEST])
            if key not in again:
                yield f"{here} should not be there"
            elif key not in given:
                yield f"{here} is missing"
            else:
                yield from _differences(given[key], again[key], here)
    elif isinstance(given, list) and isinstance(again, list) and len(given) == len(again):
        for number, (one, other) in enumerate(zip(given, again, strict=True)):
            yield from _differences(one, other, f"{place}[{number}]")
    elif isinstance(given, list) and isinstance(again, list):
        yield f"{place} has {len(given)} entries, auditing again gives {len(again)}"
    elif given != again or type(given) is not type(again):
        yield f"{place} is {_shown(given)}, auditing again gives {_shown(again)}"


def _shown(value: Any) -> str:
    text = words(value)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"
