"""Evidence checked: what ``auditor verify`` does, as one call."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from auditor.app.auditing import audit
from auditor.errors import EvidenceError
from auditor.evidence import Verification, load, verify_with


def verify(data: bytes, environment: Mapping[str, str] | None = None) -> Verification:
    """Look into the bytes of evidence.

    Args:
        data: the archive.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.

    Raises:
        EvidenceError: it is no evidence, or is hostile.
    """
    return verify_with(audit, data, environment)


def verify_evidence(file: str | Path, *, environment: Mapping[str, str] | None = None) -> Verification:
    """Look into evidence: is it as it was made, and does it give its report again? ``auditor verify`` shows it.

    Args:
        file: the archive.
        environment: where the plan's passphrases are looked up; the process's environment if unsaid.

    Raises:
        EvidenceError: it is no evidence, or is hostile.
    """
    data = load(Path(file))
    try:
        return verify(data, environment)
    except EvidenceError as error:
        raise EvidenceError(f"{file}: {error}") from error
