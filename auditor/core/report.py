"""The result of an audit: report.json's contract as types. Knows nothing of dialects, files or formats."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Any, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field

from auditor.core.changes import Since
from auditor.core.days import DaySource
from auditor.core.service import Services
from auditor.core.state import Setting, SettingText

FORMAT: Literal["auditor-report/2"] = "auditor-report/2"
Verdict = Literal["conforming", "nonconforming", "incomplete"]
Outcome = Literal["audited", "not captured", "not readable"]
Kind = Literal["absent", "unplanned", "differs"]
Consequence = Literal["exposure", "outage", "upkeep"]
Occasion = Literal["acceptance", "routine", "after-change"]

Cause = Literal["never-shown", "cannot", "not-saved", "not-understood", "overriding", "not-given", "device"]
"""Why a planned setting is unverified: the device never tells it; our templates cannot read or write it; the capture
lacks a listing that would show it; a line was not understood; a line overrides it; the auditor lacks something (a
passphrase); the whole device was not captured or is not readable."""

OCCASIONS: tuple[Occasion, ...] = ("acceptance", "routine", "after-change")
MAX_AGES: dict[Occasion, int] = {"acceptance": 7, "routine": 40, "after-change": 1}
"""How many days old a capture may be, by the occasion, by default."""
CONSEQUENCES: tuple[Consequence, ...] = ("exposure", "outage", "upkeep")
EXIT_CODES: dict[Verdict, int] = {"conforming": 0, "nonconforming": 1, "incomplete": 3}
"""As with diff(1): 0 alike, 1 different, and trouble is more; 2 is for errors, when nothing was audited."""


COMPLETE_CAUSES: frozenset[Cause] = frozenset({"never-shown", "cannot"})
"""Causes that leave an audit complete: nothing that anybody could save or set would have told more."""


class Doubt(NamedTuple):
    """Why a setting is unverified.

    Attributes:
        cause: which kind of reason that is.
        why: the same in a sentence that ends in what to do next.
        lines: the overriding lines that it is for, as they stand in the capture, secrets taken out.
    """

    cause: Cause
    why: str
    lines: tuple[str, ...] = ()


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class QuotedLine(_Part):
    """A line of a capture, secrets taken out."""

    file: str
    line: int
    text: str


class BearingLine(QuotedLine):
    """A line that is known and not modelled: why it matters, and the settings that it bears on."""

    why: str
    bears_on: list[str] = Field(default_factory=list)


class Approval(_Part):
    """Who approved a deviation, why, and until when."""

    reason: str
    approved_by: str
    ticket: str
    until: date
    expired: bool = False


class Concerned(_Part):
    """What of the plan a finding touches, by the service paths: how many access ports, which Wi-Fi names, devices."""

    ports: int = 0
    wifi: list[str] = Field(default_factory=list)
    devices: list[str] = Field(default_factory=list)


class Correction(_Part):
    """Native commands that would bring a setting back to the plan: a proposal to review; nothing of it is ever sent.

    Attributes:
        commands: what to enter, in configuration mode.
        undo: what takes these commands back.
        cautions: what to mind with these commands, and the order that keeps a way in open.
        always: what to mind with all proposals for this device, its dialect's own safety net among it.
        settles: other findings of the device that the same commands settle.
        by_hand: why no commands are proposed; empty where some are.
    """

    commands: list[str] = Field(default_factory=list)
    undo: list[str] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)
    always: list[str] = Field(default_factory=list)
    settles: list[str] = Field(default_factory=list)
    by_hand: str = ""


class Finding(_Part):
    """One nonconforming setting.

    Attributes:
        id: the same in every run for the same device and setting.
        number: its place within the report, from 1; 0 until the report is put together.
        setting: the setting as a text; ``area``, ``key`` and ``field`` are its parts, to the letter.
        expected, observed: values as JSON; ``null`` is "not there".
        consequence: access that should be closed is open, a planned service does not work, or no effect on users yet.
        effect: the same in a sentence.
        evidence: the lines it was observed in.
        concerned: the ports, Wi-Fi names and devices that lose or leak by it.
        cause: the id of the finding that this one comes from or goes with; its own where it stands alone.
        approved: the approval that covers it; one that has expired does not.
        correction: commands that would settle it, as a proposal, or why there are none; ``None`` where the device was
            not audited.
    """

    id: str
    number: int = 0
    device: str
    area: str
    setting: str
    key: str = ""
    field: str = ""
    kind: Kind
    expected: Any = None
    observed: Any = None
    consequence: Consequence
    effect: str
    evidence: list[QuotedLine] = Field(default_factory=list)
    concerned: Concerned = Concerned()
    cause: str = ""
    approved: Approval | None = None
    correction: Correction | None = None

    @property
    def place(self) -> Setting:
        """The setting in its parts."""
        return Setting(self.area, self.key, self.field)

    @property
    def proposed(self) -> Correction | None:
        """The correction, where it has commands."""
        return self.correction if self.correction and self.correction.commands else None

    @property
    def by_hand(self) -> str:
        """Why no commands are proposed; empty where some are, or where nothing is known."""
        return self.correction.by_hand if self.correction else ""

    @property
    def counts(self) -> bool:
        """Whether it makes the verdict worse: it is not approved, or no longer."""
        return self.approved is None or self.approved.expired


def finding_id(device: str, setting: Setting | str) -> str:
    """Return an id that is the same in every run.

    A whole item whose name ends like a field, ``ssids`` / ``a.hidden``, has another one than that field of ``a``.
    """
    text = str(setting)
    if isinstance(setting, Setting) and Setting.parse(text) != setting:
        text = "\0".join(setting)
    return hashlib.sha256(f"{device}\0{text}".encode()).hexdigest()[:12]


def finding_ids(device: str, text: str) -> set[str]:
    """Return the ids that a finding with a setting's text can have: that of a field, and that of a whole item."""
    area, _, key = text.partition(".")
    return {finding_id(device, text), finding_id(device, Setting(area, key))}


class Unverified(_Part):
    """A planned setting that was not seen either way.

    Attributes:
        why: the reason, in a sentence; ``cause`` is which kind of reason that is.
        lines: the overriding lines that it is for, secrets taken out.
        approved: their approval, where all of them have one; the audit is complete without the setting then.
    """

    device: str
    setting: SettingText
    why: str
    cause: Cause
    lines: list[str] = Field(default_factory=list)
    approved: Approval | None = None


class Counts(_Part):
    """How many settings are what: planned = conforming + nonconforming + unverified.

    An item that is wholly absent counts as one setting. Approved findings are counted where they belong and once
    more under ``approved``.
    """

    planned: int = 0
    conforming: int = 0
    nonconforming: int = 0
    unverified: int = 0
    unplanned: int = 0
    approved: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(**{name: getattr(self, name) + getattr(other, name) for name in Counts.model_fields})


class Capture(_Part):
    """One file of a capture.

    ``days`` has the days on which it was read, by what tells them: those that were looked at, the one that counts last.
    """

    file: str
    sha256: str
    lines: int
    days: dict[DaySource, date] = Field(default_factory=dict)


class CapturedOn(_Part):
    """The day of a device's capture, the oldest of its files, and what it is known by."""

    on: date
    by: DaySource


class Incomplete(_Part):
    """One reason why a device's audit is incomplete, and which kind of reason that is.

    Beside the causes of unverified settings: ``too-old``, the capture is older than allowed; ``undated``, nothing sure
    enough tells its day.
    """

    cause: Cause | Literal["too-old", "undated"]
    why: str


class DeviceReport(_Part):
    """What became of one device.

    Attributes:
        reason: why it was not audited, or why its audit is incomplete: all of ``incomplete`` in one sentence.
        complete: whether everything planned that could have been verified was: nothing stands in ``incomplete``.
        incomplete: the reasons why not everything was that could have been.
        captured: the day of its capture; ``None`` where there is none, or nothing tells its day.
        areas: the counts of each area in which anything is planned or found; together they are ``counts``.
        not_understood: lines of audited areas that were not understood.
        limits: lines that are known and not modelled, and can block a service without changing what was planned.
        overriding: such lines that can make a planned setting untrue.
        notes: what is remarkable about how it was captured.
    """

    name: str
    platform: str
    role: str
    outcome: Outcome
    verdict: Verdict
    reason: str | None = None
    complete: bool = True
    incomplete: list[Incomplete] = Field(default_factory=list)
    captured: CapturedOn | None = None
    captures: list[Capture] = Field(default_factory=list)
    counts: Counts = Counts()
    areas: dict[str, Counts] = Field(default_factory=dict)
    not_understood: list[QuotedLine] = Field(default_factory=list)
    limits: list[BearingLine] = Field(default_factory=list)
    overriding: list[BearingLine] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)


class PlanFileRef(_Part):
    """The plan that was audited against."""

    file: str
    sha256: str


class StaleDeviation(_Part):
    """An approved deviation of the plan that matches no finding, or that has expired."""

    device: str
    setting: str
    until: date
    why: str


class Report(_Part):
    """A site's audit. ``format`` to ``unverified`` are the fixed keys of report.json.

    ``notes`` say what is remarkable about the captures of the site as a whole. ``since`` tells what came and went since
    the audit before, where the history knows of one; ``max_age`` how many days
    old a capture could be, ``None`` for any number; ``files`` names the files of the report that were written together,
    this one among them.
    """

    format: Literal["auditor-report/2"] = FORMAT
    site: str
    reference: str
    occasion: Occasion
    verdict: Verdict
    complete: bool
    plan: PlanFileRef
    counts: Counts
    devices: list[DeviceReport]
    findings: list[Finding]
    unverified: list[Unverified]
    services: Services = Services()
    deviations: list[StaleDeviation] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)
    since: Since | None = None
    audited_on: date
    max_age: int | None = None
    files: list[str] = Field(default_factory=list)
    tool: str

    @property
    def exit_code(self) -> int:
        """The exit code of a run with this result."""
        return EXIT_CODES[self.verdict]


def verdict_of(complete: bool, findings: list[Finding]) -> Verdict:
    """Return the verdict: trouble wins over findings, and only what is not approved counts."""
    if not complete:
        return "incomplete"
    return "nonconforming" if any(finding.counts for finding in findings) else "conforming"
