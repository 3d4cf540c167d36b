"""Commands in a capture that leave out a part of the configuration, and configurations that stand in it twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from auditor.platforms.definition import Platform, any_of
from auditor.reading.source import Lines

_BEHIND_A_PROMPT = re.compile(r"[#>$%] *")
_PIPE = re.compile(r"\s*\|\s*|\s+(?=where\s)")
_AS_IT_IS = re.compile(
    r"all|brief|commands|compact|detailed|expanded|full(-configuration)?|(hide|show)-sensitive|linenum|no-?more|"
    r"sanitized|status|structured|terse|verbose|view|\S+=.*"
)
"""Words behind a command that say how it is printed, not how much of it."""
_PASSES_ON = re.compile(r"(append|cat|display|less|more|no-?more|redirect|save|strip-private|tee)\b.*")
"""What stands behind a pipe and leaves nothing out; of others that is not known."""


class _Asked(NamedTuple):
    """What was typed for one of a platform's commands, on which line, and whether that leaves something out."""

    line: int
    command: str
    typed: str
    narrow: bool


class Narrowed:
    """Finds in captures of a platform what shows a part alone, or more than one whole."""

    def __init__(self, platform: Platform) -> None:
        self._prompt = any_of(platform.patterns("prompt"))
        self._begin = any_of(platform.patterns("begin"))
        self._first = next(iter(platform.commands))
        self._known = {
            tuple(_words(_PIPE.split(command)[0])): (command, own.save) for command, own in platform.commands.items()
        }

    def problem(self, lines: Lines) -> str:
        """Return why a text is not the one whole answer to its command; empty where it may be."""
        asked = list(self._asked(lines))
        whole = [each for each in asked if not each.narrow]
        for each in asked:
            if each.narrow and each.command not in (other.command for other in whole):
                return f"{each.typed!r} leaves out a part of it: save all that {each.command!r} shows"
        begun = sum(self._begin.match(line) is not None for line in lines.texts)
        at = [each.line for each in whole if each.command == self._first]
        answers = (lines.texts[first:behind] for first, behind in pairwise([*at, len(lines.texts)]))
        answered = sum(any(map(self._tells, answer)) for answer in answers)
        if max(begun, answered) > 1:
            return "more than one configuration stands in it: keep the one of today"
        return ""

    def _tells(self, line: str) -> bool:
        return bool(line.strip()) and not self._prompt.match(line)

    def _asked(self, lines: Lines) -> Iterator[_Asked]:
        for number, line in enumerate(lines.texts, 1):
            if not (_BEHIND_A_PROMPT.search(line) and self._prompt.match(line)):  # the mark is looked for faster
                continue
            typed = _BEHIND_A_PROMPT.split(line, maxsplit=1)[-1].strip()
            head, *pipes = _PIPE.split(typed)
            words = _words(head)
            for known, (command, save) in self._known.items():
                if save in words or _abbreviates(words, known):
                    more = words[len(known) :] if save not in words else ()
                    narrow = not all(map(_AS_IT_IS.fullmatch, more)) or not all(map(_PASSES_ON.match, pipes))
                    yield _Asked(number, command, typed, narrow)
                    break


def _words(text: str) -> list[str]:
    return [word.removeprefix("/") if word.count("/") == 1 else word for word in text.lower().split()]


def _abbreviates(typed: list[str], words: tuple[str, ...]) -> bool:
    """Return whether what was typed stands for a command, as a whole: each word begins as the one there does."""
    return len(typed) >= len(words) and all(word.startswith(part) for part, word in zip(typed, words, strict=False))
