"""Whether the files of an archive are those that were put into it, by its list of sums and its manifest."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any, NoReturn

from pydantic import ValidationError

from auditor.errors import EvidenceError
from auditor.evidence.manifest import MANIFEST, REPORT, SUMS, Contents, sum_of, sums_of
from auditor.reports.sanitize import sanitize

MAX_JSON = 32 * 1024 * 1024
"""Most bytes of the manifest, and of report.json: parsed they take many times as much."""


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
    altered = [name for name in right if name in told and told[name] != sum_of(right[name])]
    wrong = [f"{name}{f' or its line in {SUMS}' if name == MANIFEST else ''} was altered" for name in altered]
    wrong += [f"{name} was added" for name in right if name not in told]
    wrong += [f"{sanitize(name[:80])} is missing" for name in told if name and name not in right]
    return wrong or [f"{SUMS} was altered"]


def contents_of(files: dict[str, bytes], damage: list[str]) -> Contents | None:
    """Return the manifest as every version's can be read.

    ``None`` where it is one of the files that were changed and can no longer be read.

    Raises:
        EvidenceError: there is none, or it cannot be read though nothing was changed.
    """
    if MANIFEST not in files and not damage:
        raise EvidenceError(f"it is no evidence: it holds no {MANIFEST}")
    try:
        json_of(files.get(MANIFEST, b""))
        return Contents.model_validate_json(files[MANIFEST])
    except (ValueError, RecursionError) as error:  # ValidationError is one
        if damage:
            return None
        raise EvidenceError(f"{MANIFEST} cannot be used: {first_of(error)}") from error


def strangers_of(contents: Contents, files: dict[str, bytes]) -> list[str]:
    """Return where the manifest and the files are at odds."""
    told = {entry.file: entry for entry in contents.files}
    wrong = [
        f"{name} was altered"
        for name, entry in told.items()
        if name in files and (entry.size, entry.sha256) != (len(files[name]), sum_of(files[name]))
    ]
    wrong += [f"{name} was added" for name in files if name not in told and name not in (MANIFEST, SUMS)]
    wrong += [f"{sanitize(name[:80])} is missing" for name in dict.fromkeys([*told, REPORT]) if name not in files]
    counts = Counter(entry.file for entry in contents.files)
    wrong += [f"{sanitize(name[:80])} is listed twice in {MANIFEST}" for name, count in counts.items() if count > 1]
    return wrong


def odds_of(contents: Contents, files: dict[str, bytes]) -> list[str]:
    """Return where the manifest says something else of the audit than report.json does, in whichever version's form."""
    try:
        told = json_of(files[REPORT])
    except (ValueError, RecursionError) as error:
        return [f"{REPORT} is no report: {first_of(error)}"]
    if not isinstance(told, dict):
        return [f"{REPORT} is no report"]
    said = contents.model_dump(mode="json", include={"tool", "site", "reference", "occasion", "audited_on"})
    return [f"{MANIFEST} and {REPORT} differ in {key}" for key in said if told.get(key, said[key]) != said[key]]


def json_of(data: bytes) -> Any:
    """Return JSON as it is meant: no key twice, no number that is none, of a size that can be looked into.

    Raises:
        ValueError: it is none.
        RecursionError: it is nested too deeply.
    """
    if len(data) > MAX_JSON:
        raise ValueError("it is too large")
    return json.loads(data.decode(), object_pairs_hook=_each_once, parse_constant=_no_number)


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    told = dict(pairs)
    if len(told) < len(pairs):
        raise ValueError("duplicate key")
    return told


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is no number of JSON")


def first_of(error: Exception) -> str:
    """Return the first thing that is wrong with JSON, without quoting it."""
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False, include_input=False)[0]
        return sanitize(": ".join(filter(None, [".".join(map(str, first["loc"])), first["msg"]]))[:200])
    return sanitize(str(error)[:200])
