"""What became of a site's findings since the audit before: part of the report, and of the site's history."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import BaseModel, ConfigDict

Course = Literal["new", "since unknown", "came back", "persists", "not seen", "gone"]
COURSES: tuple[Course, ...] = ("new", "since unknown", "came back", "persists", "not seen", "gone")


class Traced(BaseModel):
    """A finding, and how it fared since the audit before.

    Attributes:
        id: the finding's, by which it is known again; a renumbered port makes another finding.
        course: ``new``; ``since unknown`` where the device was not audited before;
            ``came back`` after it had been gone; ``persists``; ``not seen`` where this audit cannot tell whether it
            is still there; ``gone``.
        since: the day of the first audit that found it without its being gone since.
        before: the last day it was found before that, where it had been gone in between.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    device: str
    setting: str
    consequence: Literal["exposure", "outage", "upkeep"]
    effect: str
    course: Course
    since: date
    before: date | None = None


class Since(BaseModel):
    """What became of findings since the audit before.

    Attributes:
        day: the day of the audit before.
        plan_changed: whether that one was against another plan.
        findings: those of this audit and of the one before.
        recaptured: devices of which each file of the capture is the same as then, to the byte.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    day: date
    plan_changed: bool = False
    findings: list[Traced]
    recaptured: list[str] = []

    def of(self, course: Course) -> list[Traced]:
        """Return the findings that fared so."""
        return [traced for traced in self.findings if traced.course == course]
