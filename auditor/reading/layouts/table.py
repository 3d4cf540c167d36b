"""Tables: a line with the names of the columns opens a section, and the lines below it are its rows, as they stand.

They are the answers to commands that show what a device has, whatever its configuration looks like. A row goes on in
lines that are indented; blank lines mean nothing. A line at the margin belongs to the table where the rule that owns
it says so (``flat``), or where a message has torn it off; any other ends the table. A device that does not know the
command says so in the place of the table.
"""

from __future__ import annotations

import re

from auditor.platforms.definition import Platform, SectionRule, any_of
from auditor.reading.rows import Preparation
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Disposition, Lines

_BLANKS = re.compile(r"(?<=\S)[ \t]{2,}")


def header_of(line: str) -> str:
    """Return a line in the form in which rules match it: its columns one blank apart."""
    return _BLANKS.sub(" ", line)


def preparation(platform: Platform, rule: SectionRule) -> Preparation:  # noqa: ARG001 - the same for all
    """Return what makes of a row's line what its template reads: it stays as it is, for the columns' sake."""
    return lambda line: (line, Disposition.READ if line else Disposition.BLANK)


def cut(lines: Lines, platform: Platform, rules: Rules) -> list[Section]:
    """Cut a text into tables and account for every line that is in none."""
    prompt, noise = any_of(platform.patterns("prompt")), any_of(platform.patterns("noise"))
    refusal = any_of(platform.patterns("refusal"))
    comment = tuple(platform.patterns("comment"))
    sections: list[Section] = []
    current: Section | None = None
    torn = False
    for number, line in enumerate(lines.texts, 1):
        if not line:
            lines.mark(number, Disposition.BLANK)
            torn = False
        elif line[0] in " \t":
            _below(lines, current, line, number)
        elif line.startswith(comment) and not rules.owns(header_of(line)):
            lines.mark(number, Disposition.COMMENT)
            torn = False
        elif prompt.match(line) or (current is None and refusal.match(line)):
            lines.mark(number, Disposition.NOISE)
            current = None
        elif noise.match(line) and not rules.owns(header_of(line)):
            lines.mark(number, Disposition.NOISE)
            torn = True
        elif not rules.owns(header_of(line)) and belongs(line, current, torn=torn or number in lines.loose):
            _below(lines, current, line, number)
        else:
            current = rules.open(header_of(line), number)
            lines.mark(number, current.disposition)
            sections.append(current)
            torn = False
    return sections


def belongs(line: str, table: Section | None, *, torn: bool) -> bool:
    """Return whether a line at the margin is one of a table's."""
    owner = table.owner if table else None
    return owner is not None and (torn or owner.flat_line.fullmatch(line) is not None)


def _below(lines: Lines, section: Section | None, line: str, number: int) -> None:
    if section is None or section.owner is None:
        lines.mark(number, section.disposition if section else Disposition.OUTSIDE)
    if section is not None:
        section.append(f"{line}\n", number, 1)
