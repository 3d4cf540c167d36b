"""Every error that this project raises, with the exit code that the command line ends with.

AuditorError                          (exit code 2: a site was not audited, or results could not be written)
├── PlanError                         the plan file is wrong: all its problems at once
├── PlatformError                     a platform's data is wrong, or no such platform
│   └── RenderError                   an expected-settings template cannot render a state
├── UsageError                        the command was called with something that cannot be used
├── ReportError                       a report cannot be written
├── EvidenceError                     a file is no evidence that can be looked into
├── UnforeseenError                   something went wrong that nobody foresaw: a fault of this program
├── HistoryError                      the history cannot be kept or read
│   └── HistoryTooNew                 a newer version wrote it
├── NotAllowedError                   something that is no read-only command was not sent to a device
└── CaptureFailedError                a device could not be captured: a result of the device, never the end of a run
    ├── TransientError                trying again may help
    ├── StoppedError                  the round was stopped before its turn
    ├── AskedError                    it asks for something that nobody answers
    ├── UnknownHostKeyError           it is met for the first time
    ├── RevokedHostKeyError           it shows a key that was revoked
    └── ChangedHostKeyError           it shows another key than before

A device that cannot be read is a result, not an error: see auditor.core.report. The last two branches end within
``auditor.capture``, which makes such results of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a plan file.

    Attributes:
        file: name of the file as the user gave it.
        line: 1-based line, 0 where there is none (an unreadable file); in a workbook, the row.
        key: dotted path of the entry, such as ``subnets.staff.vlan``.
        message: what was expected, in words.
        sheet: the workbook's sheet, for plans kept as a spreadsheet.
    """

    file: str
    line: int
    key: str
    message: str
    sheet: str = ""

    def __str__(self) -> str:
        place = self.file
        if self.sheet:
            place += f" [{self.sheet}]"
        if self.line:
            place += f":{self.line}"
        return f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}"


class AuditorError(Exception):
    """Root of all errors that are meant for the user."""

    exit_code = 2


class PlanError(AuditorError):
    """The plan cannot be used; ``problems`` lists everything that is wrong, in the file's order."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = sorted(problems, key=lambda p: (p.file, p.sheet, p.line, p.key))
        super().__init__("\n".join(str(p) for p in self.problems))


class PlatformError(AuditorError):
    """A platform's data cannot be used, or there is no platform of that name."""


class RenderError(PlatformError):
    """An expected-settings template failed; names the template and its line."""


class UsageError(AuditorError):
    """Something given on the command line cannot be used."""


class ReportError(AuditorError):
    """A report cannot be written."""


class EvidenceError(AuditorError):
    """A file is no evidence, or one that is not safe to look into."""


class UnforeseenError(AuditorError):
    """Something went wrong that nobody foresaw; says which exception, and where in the code."""


class HistoryError(AuditorError):
    """The history of audits cannot be kept or read."""


class HistoryTooNew(HistoryError):  # noqa: N818 - it is a case of one that has the suffix
    """The history was written by a newer version, and is left as it is."""


class NotAllowedError(AuditorError):
    """Something was about to be sent that is no read-only command; it was not sent."""

    def __init__(self) -> None:
        super().__init__(
            "blocked: not a read-only command, or nothing had asked for it; it was not sent. Please report this"
        )


class CaptureFailedError(AuditorError):
    """One device could not be captured; becomes a NotCaptured result, never an error of the whole.

    Attributes:
        reason: what happened and what to do next, for the report.
        transient: trying again may help.
    """

    transient = False

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


class TransientError(CaptureFailedError):
    """A failure that may be over in a moment: refused, reset, timed out, cut."""

    transient = True


class StoppedError(CaptureFailedError):
    """The round was stopped before the device was done."""


class AskedError(CaptureFailedError):
    """Something stands there that is neither a prompt nor a pager; nothing is sent into it.

    Args:
        asked: what stands there, without secrets and harmless.
        when: at the login, or behind which line.
        answered: what was answered before that, each with what asked for it.
    """

    def __init__(self, asked: str, when: str, answered: Sequence[str] = ()) -> None:
        said = f"{' and '.join(answered)}; nothing else was answered" if answered else "nothing was answered"
        super().__init__(
            f'it shows "{asked}" {when} instead of a prompt, and {said}: log in by hand, settle what it '
            "asks for, and read it again"
        )


class UnknownHostKeyError(CaptureFailedError):
    """A device is met for the first time."""


class RevokedHostKeyError(CaptureFailedError):
    """A device shows a key that nobody may trust any more."""


class ChangedHostKeyError(CaptureFailedError):
    """A device shows another key than before."""
