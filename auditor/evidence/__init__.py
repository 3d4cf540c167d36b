"""Evidence of an audit: plan, captures without secrets and reports in one archive, and the proof that they fit."""

from __future__ import annotations

from auditor.evidence.archive import load
from auditor.evidence.checking import verify_with
from auditor.evidence.packing import Recorded, evidence_of
from auditor.evidence.verification import Verification

__all__ = ["Recorded", "Verification", "evidence_of", "load", "verify_with"]
