"""Every error that this project raises, with the exit code that the command line ends with.

AuditorError                          (exit code 2: a site was not audited, or results could not be written)
├── PlanError                         the plan file is wrong: all its problems at once
├── PlatformError                     a platform's data is wrong, or no such platform
│   └── RenderError                   an expected-settings template cannot render a state
├── UsageError                        the command was called with something that cannot be used
├── ReportError                       a report cannot be written
├── EvidenceError                     a file is no evidence that can be looked into
├── UnforeseenError                   something unforeseen went wrong: a fault of this program
└── HistoryError                      the history cannot be kept or read
    └── HistoryTooNew                 a newer version wrote it

A device that cannot be read is a result, not an error: see auditor.core.report.
"""

from __future__ import annotations

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
    """Something unforeseen went wrong; says which exception, and where in the code."""


class HistoryError(AuditorError):
    """The history of audits cannot be kept or read."""


class HistoryTooNew(HistoryError):  # noqa: N818 - it is a case of one that has the suffix
    """The history was written by a newer version, and is left as it is."""
