"""Evidence of made-up sites, and ways to tamper with it."""

from __future__ import annotations

import hashlib
import json
import struct
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from auditor.app.auditing import audit
from auditor.core.report import Report
from auditor.evidence import Recorded, evidence_of
from auditor.evidence.archive import pack, unpack
from auditor.evidence.manifest import MANIFEST, SUMS, sums_of
from auditor.evidence.verification import Verification
from auditor.reports import FORMATS, naming_files
from auditor.reports.view import view_of
from tests.compare.site import PASSPHRASES, TODAY, Site, drifted, edited

QUARRY = "quarry-road"
CORE = "core1/show_running-config.txt"
FILES = dict[str, bytes]


def evidence(
    site: Site, environment: Mapping[str, str] = PASSPHRASES, formats: tuple[Any, ...] = FORMATS, **options: Any
) -> bytes:
    """Return the evidence of a site's audit."""
    recorded = Recorded(site.plan, site, environment)
    report = audit(site.plan, recorded, **{"today": TODAY, "environment": environment, **options})
    return evidence_of(recorded, report, rendered(report, formats), environment)


def rendered(report: Report, formats: tuple[Any, ...]) -> dict[Any, bytes]:
    """Return a report in some formats, as they are written together."""
    view = naming_files(view_of(report), formats)
    return {form: form.render(view) for form in formats}


@cache
def small() -> bytes:
    """Return evidence of the clinic: a device not captured, one with lines that are not understood, a drift."""
    site = drifted(QUARRY)
    core = edited(site.text(CORE), " switchport", " frobnicate\n switchport", below="interface GigabitEthernet1/0/12")
    site = site.having(CORE, core).without(*site.files_of("ap2"))
    return evidence(site, formats=FORMATS[:3], occasion="acceptance")


@cache
def whole() -> bytes:
    """Return evidence of the clinic with its drifts, the report in every format that can be made here."""
    return evidence(drifted(QUARRY), occasion="acceptance")


def having(data: bytes, changed: Mapping[str, bytes | None], *, sums: bool = True, entries: bool = False) -> bytes:
    """Return evidence with other contents of some files, ``None`` for a file that is taken away.

    ``entries`` and ``sums`` say whether manifest and list of sums are made to fit.
    """
    files = unpack(data)
    for name, contents in changed.items():
        if contents is None:
            del files[name]
        else:
            files[name] = contents
    if entries:
        told = json.loads(files[MANIFEST])
        told["files"] = [
            {"file": name, "sha256": hashlib.sha256(files[name]).hexdigest(), "size": len(files[name])}
            for name in sorted(files)
            if name not in (MANIFEST, SUMS)
        ]
        files[MANIFEST] = (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode()
    if sums:
        del files[SUMS]
        files[SUMS] = sums_of(files)
    return pack(files)


def manifest_with(data: bytes, **keys: Any) -> bytes:
    """Return evidence whose manifest says something else, its list of sums made to fit."""
    return manifest_changed(data, lambda told: told.update(keys))


def manifest_changed(data: bytes, change: Callable[[Any], None]) -> bytes:
    """Return evidence whose manifest was changed in some way, its list of sums made to fit."""
    told = json.loads(unpack(data)[MANIFEST])
    change(told)
    return having(data, {MANIFEST: (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode()})


def report_changed(data: bytes, change: Callable[[Any], None], files: Mapping[str, bytes] | None = None) -> bytes:
    """Return evidence whose report says something else in every format that is there, all sums made to fit."""
    told = json.loads(unpack(data)["reports/report.json"])
    change(told)
    view = view_of(Report.model_validate(told))
    held = {f"reports/{form.file}": form for form in FORMATS if f"reports/{form.file}" in unpack(data)}
    return having(data, {**(files or {}), **{name: form.render(view) for name, form in held.items()}}, entries=True)


def wrong(found: Verification) -> list[str]:
    """Return all that is altered or differs."""
    differs = [f"{file}: {text}" for file, where in found.differs.items() for text in where or ["not what is made"]]
    return found.altered + differs


def flipped(data: bytes, at: int) -> bytes:
    """Return bytes with one bit changed."""
    return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]


def report_in(data: bytes) -> Report:
    """Return the report of evidence."""
    return Report.model_validate_json(unpack(data)["reports/report.json"])


def place_of(data: bytes, name: str) -> int:
    """Return where a file's bytes begin in an archive."""
    at = data.index(b"PK\3\4" + struct.pack("<H", 20))
    while data[at + 30 : at + 30 + len(name)] != name.encode() or data[at + 26] != len(name):
        at = data.index(b"PK\3\4", at + 4)
    return at + 30 + len(name)
