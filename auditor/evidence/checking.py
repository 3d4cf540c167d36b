"""Whether evidence is whole: no file changed, and its captures and plan give its report again."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping

from pydantic import ValidationError

from auditor.core.report import Report
from auditor.errors import EvidenceError
from auditor.evidence.archive import pack, unpack
from auditor.evidence.integrity import contents_of, contradictions_of, damage_of, first_of, unlisted_of
from auditor.evidence.manifest import FORMAT, MANIFEST, SUMS, TOOL, Contents, Manifest
from auditor.evidence.repeating import repeat
from auditor.evidence.verification import Verification
from auditor.reports.sanitize import sanitize

_LONGEST = 80
"""Most characters of a site's name that are shown."""


def verify_with(
    audit: Callable[..., Report], data: bytes, environment: Mapping[str, str] | None = None
) -> Verification:
    """Look into evidence.

    Args:
        audit: what audits again: the audit of ``auditor.app``, which stands above this room.
        data: the archive.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.

    Raises:
        EvidenceError: it is no evidence, or is hostile.
    """
    files = unpack(data)
    damage = damage_of(files)
    contents = contents_of(files, damage)
    if contents is None:
        return Verification(len(files), altered=damage)
    found = Verification(len(files), _about(contents))
    unlisted = unlisted_of(contents, files)
    if SUMS in files and damage and not unlisted and not any(MANIFEST in text for text in damage):
        damage = [f"{SUMS} was altered"]
    found.altered = damage or unlisted or contradictions_of(contents, files)
    if not found.altered and pack(files) != data:
        found.altered.append("the archive was packed again, or holds more than its files")
    if found.altered:
        return found
    found.made_by = _other_version(contents)
    if not found.made_by:
        held = os.environ if environment is None else environment
        repeat(_manifest(files[MANIFEST]), files, held, found, audit)
    return found


def _about(contents: Contents) -> str:
    named = f" ({sanitize(contents.reference)[:_LONGEST]})" if contents.reference else ""
    return (
        f"Evidence of {sanitize(contents.site)[:_LONGEST]}{named}: {sanitize(contents.occasion)[:_LONGEST]} audit of "
        f"{contents.audited_on}, made by {contents.tool}"
    )


def _other_version(contents: Contents) -> str:
    """Return which version made an archive, and which this is; empty where it is the same."""
    if contents.tool != TOOL:
        return f"{contents.tool}, this is {TOOL.removeprefix('auditor ')}"
    if contents.format != FORMAT:
        return f"another build of {contents.tool} ({contents.format}, this one writes {FORMAT})"
    return ""


def _manifest(data: bytes) -> Manifest:
    """Return the manifest of this version.

    Raises:
        EvidenceError: it is none.
    """
    try:
        return Manifest.model_validate_json(data)
    except ValidationError as error:
        raise EvidenceError(f"{MANIFEST} cannot be used: {first_of(error)}") from error
