"""Whether the files of an archive are those that were put into it, by its list of sums and its manifest."""

from __future__ import annotations

import hashlib
import json

from pydantic import ValidationError

from auditor.errors import EvidenceError
from auditor.evidence.manifest import FORMAT, MANIFEST, REPORT, REPORTS, SUMS, Manifest, sums_of
from auditor.reports.harmless import harmless


def damage_of(files: dict[str, bytes]) -> list[str]:
    """Return which files are not those that the list of sums names."""
    if SUMS not in files:
        return [f"{SUMS} is missing"] if MANIFEST in files else []
    right = {name: data for name, data in files.items() if name != SUMS}
    if files[SUMS] == sums_of(right):
        return []
    told = {}
    for line in files[SUMS].decode(errors="replace").split("\n"):
        digest, _, name = line.partition("  ")
        told[name] = digest
    altered = [name for name in right if name in told and told[name] != _sum(right[name])]
    wrong = [f"{name}{f' or its line in {SUMS}' if name == MANIFEST else ''} was altered" for name in altered]
    wrong += [f"{name} was added" for name in right if name not in told]
    wrong += [f"{harmless(name)} is missing" for name in told if name and name not in right]
    return wrong or [f"{SUMS} was altered"]


def manifest_of(files: dict[str, bytes], damage: list[str]) -> Manifest | None:
    """Return the manifest; ``None`` where it is one of the files that were changed and can no longer be read.

    Raises:
        EvidenceError: there is none, or it is none that this version knows.
    """
    if MANIFEST not in files and not damage:
        raise EvidenceError(f"it is no evidence: it holds no {MANIFEST}")
    try:
        told = json.loads(files.get(MANIFEST, b""))
        form = str(told["format"]) if isinstance(told, dict) and "format" in told else ""
        if form == FORMAT:
            return Manifest.model_validate(told)
        why = f"its format is {harmless(form) or 'not told'}, and this version of auditor knows {FORMAT}"
    except (ValueError, RecursionError) as error:  # ValidationError is one
        why = first_of(error)
    if damage:
        return None
    raise EvidenceError(f"{MANIFEST} cannot be used: {why}")


def strangers_of(manifest: Manifest, files: dict[str, bytes]) -> list[str]:
    """Return where the manifest and the files are at odds."""
    told = {entry.file: entry for entry in manifest.files}
    wrong = [
        f"{name} was altered"
        for name, entry in told.items()
        if name in files and (entry.size, entry.sha256) != (len(files[name]), _sum(files[name]))
    ]
    wrong += [f"{name} was added" for name in files if name not in told and name not in (MANIFEST, SUMS)]
    used = [manifest.plan.file, *(file.file for device in manifest.devices for file in device.files), REPORT]
    wrong += [f"{harmless(name)} is missing" for name in dict.fromkeys([*told, *used]) if name not in files]
    wrong += [
        f"{name} belongs to no device"
        for name in told
        if name in files and name not in used and not name.startswith(REPORTS)
    ]
    return wrong


def first_of(error: Exception) -> str:
    """Return the first thing that is wrong with JSON, without quoting it."""
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False, include_input=False)[0]
        return harmless(f"{'.'.join(map(str, first['loc']))}: {first['msg']}")
    return harmless(str(error))


def _sum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
