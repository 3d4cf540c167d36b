"""Whether evidence is as it was made: no file changed, and its captures and plan give its report again."""

from __future__ import annotations

import os
from collections.abc import Mapping

from auditor.evidence.archive import pack, unpack
from auditor.evidence.integrity import damage_of, manifest_of, strangers_of
from auditor.evidence.manifest import MANIFEST, SUMS
from auditor.evidence.repeating import repeat
from auditor.evidence.verification import Verification
from auditor.reports.harmless import harmless


def verify(data: bytes, environment: Mapping[str, str] | None = None) -> Verification:
    """Look into evidence.

    Args:
        data: the archive.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.

    Raises:
        EvidenceError: it is no evidence, is hostile, or was made by a version whose evidence this one does not know.
    """
    files = unpack(data)
    damage = damage_of(files)
    manifest = manifest_of(files, damage)
    if manifest is None:
        return Verification("Evidence whose manifest.json was changed.", wrong=damage)
    found = Verification(
        f"{harmless(manifest.site)}{f' ({harmless(manifest.reference)})' if manifest.reference else ''}: "
        f"{manifest.occasion} audit of {manifest.audited_on}, made by {harmless(manifest.tool)}"
    )
    strangers = strangers_of(manifest, files)
    if SUMS in files and damage and not strangers and not any(MANIFEST in text for text in damage):
        damage = [f"{SUMS} was altered: it is at odds with files that are as {MANIFEST} tells"]
    found.wrong += damage or strangers
    if not found.wrong and pack(files) != data:
        found.wrong.append("the archive itself was changed or packed anew: it holds more than its files")
    if found.wrong:
        found.uncompared.append("the report was not made again, because of that")
        return found
    found.proved.append(
        f"all {len(files)} files are there, none is added, and each has the SHA-256 that was written down"
    )
    repeat(manifest, files, os.environ if environment is None else environment, found)
    return found
