"""manifest.json: what is in the archive, and what the audit was given besides plan and captures."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

import auditor
from auditor.core.days import DaySource
from auditor.core.report import Occasion

FAMILY = "auditor-evidence/"
FORMAT: Literal["auditor-evidence/4"] = "auditor-evidence/4"
TOOL = f"auditor {auditor.__version__}"
"""What this version calls itself in reports and manifests."""
MANIFEST = "manifest.json"
SUMS = "SHA256SUMS"
REPORTS = "reports/"
REPORT = f"{REPORTS}report.json"


class _Part(BaseModel):
    """A part of the manifest. Keys that this version does not write are found when it is made again."""

    model_config = ConfigDict(frozen=True, extra="ignore")


class FileEntry(_Part):
    """A file of the archive."""

    file: str
    sha256: str
    size: int


class Contents(_Part):
    """What the manifests of all versions say: who made the archive, of what, and which files are in it."""

    format: Annotated[str, StringConstraints(pattern=rf"^{FAMILY}[0-9]{{1,4}}$")]
    tool: Annotated[str, StringConstraints(pattern=r"^auditor [0-9A-Za-z.+-]{1,40}$")]
    site: str
    reference: str
    occasion: str
    audited_on: date
    files: list[FileEntry]


class Quoted(_Part):
    """A file of the archive, and what it is called in the report."""

    file: str
    name: str


class CaptureEntry(Quoted):
    """A file of a capture; ``days`` are the days of its reading that the report tells, but for what its text says."""

    days: dict[DaySource, date] = Field(default_factory=dict)


class DeviceEntry(_Part):
    """A device: the files of its capture and what was remarkable about it, or why there are none."""

    name: str
    files: list[CaptureEntry] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)
    not_captured: str | None = None
    not_readable: str | None = None


class Manifest(_Part):
    """All of it.

    Attributes:
        max_age: how many days old a capture could be, without the audit being incomplete for it.
        passphrases: the variables of the environment that held a passphrase when it was compared.
        unusable: those that held what no passphrase can be.
        notes: what was remarkable about the captures of the site as a whole.
        devices: in the plan's order.
        made_with: for each report in whose bytes a library has a say, that library with its version.
        files: every file but this one and the list of sums, by name.
    """

    format: Literal["auditor-evidence/4"] = FORMAT
    tool: str
    site: str
    reference: str
    occasion: Occasion
    audited_on: date
    max_age: Annotated[int, Field(ge=0)] | None
    plan: Quoted
    passphrases: list[str]
    unusable: list[str]
    notes: list[str]
    devices: list[DeviceEntry]
    made_with: dict[str, Annotated[str, StringConstraints(pattern=r"^[0-9A-Za-z._,+! -]{1,80}$")]]
    files: list[FileEntry]

    def as_json(self) -> bytes:
        """Return it as the file that is in the archive."""
        return (self.model_dump_json(indent=2) + "\n").encode()


def sum_of(data: bytes) -> str:
    """Return the SHA-256 of a file in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def sums_of(files: dict[str, bytes]) -> bytes:
    """Return the list that ``sha256sum -c`` reads."""
    return "".join(f"{sum_of(files[name])}  {name}\n" for name in sorted(files)).encode()
