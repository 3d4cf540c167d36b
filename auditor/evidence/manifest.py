"""manifest.json: what is in the archive, and under which circumstances it was audited."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from auditor.model.report import Occasion

FORMAT: Literal["auditor-evidence/1"] = "auditor-evidence/1"
MANIFEST = "manifest.json"
SUMS = "SHA256SUMS"
REPORTS = "reports/"
REPORT = f"{REPORTS}report.json"


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Entry(_Part):
    """A file of the archive.

    Attributes:
        file: its name in the archive.
        made_with: of a report, what besides the tool had a say in its bytes; ``None`` where the machine had.
    """

    file: str
    sha256: str
    size: int
    made_with: str | None = ""


class Quoted(_Part):
    """A file of the archive, and what it is called in the report."""

    file: str
    name: str


class DeviceEntry(_Part):
    """A device: the files of its capture and what was remarkable about it, or why there are none."""

    name: str
    files: list[Quoted] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)
    not_captured: str | None = None
    not_readable: str | None = None


class Manifest(_Part):
    """All of it.

    Attributes:
        passphrases: the variables of the environment that held a passphrase when it was compared.
        devices: in the plan's order.
        files: every file but this one and the list of sums, by name.
    """

    format: Literal["auditor-evidence/1"] = FORMAT
    tool: str
    site: str
    reference: str
    occasion: Occasion
    audited_on: date
    plan: Quoted
    passphrases: list[str]
    devices: list[DeviceEntry]
    files: list[Entry]


def sums_of(files: dict[str, bytes]) -> bytes:
    """Return the list that ``sha256sum -c`` reads."""
    return "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files)).encode()
