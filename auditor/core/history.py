"""The audits of sites that were kept: one site's with what came and went, and a line a site over all of them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from auditor.core.changes import Since
from auditor.core.report import Consequence, Counts, Occasion, Outcome, PlanFileRef, Verdict


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class KeptDevice(_Part):
    """What became of a device in a run; ``captures`` are the SHA-256 hashes of its files by their names."""

    name: str
    outcome: Outcome
    verdict: Verdict
    complete: bool
    captures: dict[str, str] = Field(default_factory=dict)


class Run(_Part):
    """An audit that was kept.

    Attributes:
        day: the day of the audit, as in its report.
        captured: the oldest day of its captures; ``None`` where nothing tells it.
        at: when it was added, with the offset of the place.
        findings: how many there were, the approved ones among them.
        open: how many of them count, by consequence.
    """

    day: date
    captured: date | None = None
    at: datetime
    occasion: Occasion
    verdict: Verdict
    complete: bool
    plan: PlanFileRef
    tool: str
    counts: Counts
    findings: int
    open: dict[Consequence, int]
    devices: list[KeptDevice] = Field(default_factory=list)


class SiteHistory(_Part):
    """A site's audits, the newest first, and what came and went between the last two."""

    format: Literal["auditor-history/1"] = "auditor-history/1"
    site: str
    reference: str
    runs: list[Run] = Field(default_factory=list)
    since: Since | None = None


class SiteLine(_Part):
    """A site among others: its last audit, and its course.

    Attributes:
        open: findings that count, by consequence.
        trend: how many counted in each of the last audits, the oldest first.
        captured: the oldest day of the captures of the last complete audit, of the first audit where none was complete;
            the day of that audit where nothing tells it.
        days: how many days ago that was.
        overdue: whether that is longer than it should be.
        unread: devices that were not audited in the last audit.
        ever_complete: whether the site was ever read completely.
    """

    site: str
    reference: str
    verdict: Verdict
    occasion: Occasion
    day: date
    open: dict[Consequence, int]
    approved: int
    trend: list[int]
    captured: date
    days: int
    overdue: bool
    unread: int
    complete: bool
    ever_complete: bool


class Overview(_Part):
    """All sites on a day, the most urgent first."""

    format: Literal["auditor-overview/1"] = "auditor-overview/1"
    today: date
    overdue_after: int
    sites: list[SiteLine]
