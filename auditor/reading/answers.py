"""Which command a stretch of text answers: commands of one platform may be answered in layouts of their own.

A stretch begins at the prompt line with the command that the device echoes, and a file begins with that of the command
that it is named after. Where neither tells, it is the line that opens a section of such a command, up to the first line
that is none of it. All else answers the first of the platform's commands.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from auditor.platforms.definition import Platform, any_of
from auditor.platforms.live import answer_file
from auditor.reading.layouts import LAYOUTS
from auditor.reading.layouts.table import belongs, header_of
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Lines

_BEHIND_A_PROMPT = re.compile(r"[#>$%]")


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to a command: the platform as it prints this one, and who owns the sections in it."""

    commands: tuple[str, ...]
    platform: Platform
    rules: Rules

    def cut(self, lines: Lines) -> list[Section]:
        """Cut a text into sections, and account for every line that is in none."""
        return LAYOUTS[self.platform.layout.kind](lines, self.platform, self.rules)


class Answers:
    """The answers to all commands of a platform. ``rules_of`` makes the rules of the platform as it prints one."""

    def __init__(self, platform: Platform, rules_of: Callable[[Platform], Rules]) -> None:
        apart = {command: own for command, own in platform.commands.items() if own.sections}
        alike = tuple(command for command in platform.commands if command not in apart)
        self.first = Answer(alike, platform, rules_of(platform))
        self._others = [
            Answer((command,), each, rules_of(each))
            for command, each in ((command, platform.as_answered(own)) for command, own in apart.items())
        ]
        self._comment = tuple(platform.patterns("comment"))
        self._prompt = any_of(platform.patterns("prompt"))
        opens = "|".join(
            pattern for other in self._others for rule in other.platform.sections for pattern in rule.opens
        )
        refused = platform.pattern("refusal")
        self._opens = re.compile(f"^(?:(?:{opens})$|(?:{refused}))", re.MULTILINE | re.IGNORECASE)

    def cut(self, lines: Lines) -> list[Section]:
        """Cut a text into sections, each stretch by the command that it answers; every line is accounted for."""
        if not self._others or not self._opens.search("\n".join(lines.texts)):
            return self.first.cut(lines)
        told = self._told(lines)
        found: list[Section] = []
        for answer in (self.first, *self._others):
            numbers = [number for number, each in enumerate(told, 1) if each is answer]
            for section in self._part(lines, answer, numbers) if numbers else ():
                behind = (place for place, other in enumerate(found) if other.number > section.number)
                found.insert(next(behind, len(found)) if answer is not self.first else len(found), section)
        return found

    def _part(self, lines: Lines, answer: Answer, numbers: list[int]) -> list[Section]:
        """Cut some lines of a text as if all others were blank."""
        texts = [""] * len(lines.texts)
        for number in numbers:
            texts[number - 1] = lines.texts[number - 1]
        part = Lines(
            lines.name, texts, bytearray(len(texts)), lines.loose, delimiters=lines.delimiters, bearings=lines.bearings
        )
        sections = answer.cut(part)
        lines.problem = lines.problem or part.problem
        for number in numbers:
            lines.texts[number - 1] = part.texts[number - 1]
            lines.kinds[number - 1] = part.kinds[number - 1]
        return sections

    def _told(self, lines: Lines) -> list[Answer]:
        """Return for each line the answer that it belongs to."""
        name = lines.name.rpartition("/")[2]
        current = next((a for a in (self.first, *self._others) if name in map(answer_file, a.commands)), self.first)
        noise = any_of(self.first.platform.patterns("noise"))
        guessed: Section | None = None
        torn = False
        told: list[Answer] = []
        for number, line in enumerate(lines.texts, 1):
            if not line:
                torn = False
            elif line[0] not in " \t":
                header = header_of(line)
                opened = next((other for other in self._others if other.rules.owns(header)), None)
                if opened:
                    guessed = opened.rules.open(header, number) if opened is not current or guessed else None
                    current, torn = opened, False
                elif line.startswith(self._comment):
                    torn = False
                elif self._prompt.match(line):
                    current, guessed = self._asked(line), None
                elif self.first.rules.owns(header):
                    current, guessed = self.first, None
                elif guessed and noise.match(line):
                    torn = True
                elif guessed and not belongs(line, guessed, torn=torn or number in lines.loose):
                    current, guessed = self.first, None
            told.append(current)
        return told

    def _asked(self, line: str) -> Answer:
        """Return the answer to the command behind a prompt, which people may have shortened."""
        typed = _BEHIND_A_PROMPT.split(line, maxsplit=1)[-1].lower().split()
        every = (self.first, *self._others)
        fitting = [
            (answer, words) for answer in every for c in answer.commands if _fits(typed, words := c.lower().split())
        ]
        exact = [answer for answer, words in fitting if words == typed]
        found = exact or [answer for answer, _ in fitting]
        return found[0] if len({answer.commands for answer in found}) == 1 else self.first


def _fits(typed: list[str], words: list[str]) -> bool:
    """Return whether what was typed stands for a command: each word, as far as both have any, for the one there."""
    return bool(typed) and all(word.startswith(part) for part, word in zip(typed, words, strict=False))
