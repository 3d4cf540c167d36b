"""Evidence of made-up sites, and ways to tamper with it."""

from __future__ import annotations

import hashlib
import json
import struct
from collections.abc import Mapping
from functools import cache
from typing import Any

from auditor.auditing import audit
from auditor.evidence import Recorded, evidence_of
from auditor.evidence.archive import pack, unpack
from auditor.evidence.manifest import MANIFEST, SUMS, sums_of
from auditor.model.report import Report
from auditor.reports import FORMATS
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
    view = view_of(report)
    return evidence_of(recorded, report, view, {form: form.render(view) for form in formats}, environment)


@cache
def small() -> bytes:
    """Return evidence of the clinic: a device not captured, one with lines that are not understood, a drift."""
    site = drifted(QUARRY)
    core = edited(site.text(CORE), " switchport", " frobnicate\n switchport", below="interface GigabitEthernet1/0/12")
    site = site.having(CORE, core).without(*site.files_of("ap2"))
    return evidence(site, formats=FORMATS[:3], occasion="acceptance")


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
        known = {entry["file"]: entry for entry in told["files"]}
        told["files"] = [
            {**known.get(name, {"made_with": ""}), "file": name, "size": len(files[name]),
             "sha256": hashlib.sha256(files[name]).hexdigest()}
            for name in sorted(files) if name not in (MANIFEST, SUMS)
        ]  # fmt: skip
        files[MANIFEST] = (json.dumps(told, indent=2) + "\n").encode()
    if sums:
        del files[SUMS]
        files[SUMS] = sums_of(files)
    return pack(files)


def manifest_with(data: bytes, **keys: Any) -> bytes:
    """Return evidence whose manifest says something else, its list of sums made to fit."""
    told = {**json.loads(unpack(data)[MANIFEST]), **keys}
    return having(data, {MANIFEST: (json.dumps(told, indent=2) + "\n").encode()})


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
