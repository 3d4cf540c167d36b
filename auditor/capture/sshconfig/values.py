"""What the words of a line stand for: one value, a port, criteria, a text with tokens in it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from auditor.capture.lines import has_controls
from auditor.capture.sshconfig.syntax import SshLine

_CRITERIA_OF_ONE_WORD = ("all", "canonical", "final")
_TOKEN = re.compile(r"%(.?)", re.DOTALL)


def criteria(words: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Yield the criteria of a ``Match`` line, in small letters, and what each asks for."""
    rest = list(words)
    while rest:
        criterion, _, value = rest.pop(0).partition("=")
        if criterion.lower().removeprefix("!") not in _CRITERIA_OF_ONE_WORD:
            while rest and not value.removeprefix("="):
                value = rest.pop(0)
        yield criterion.lower(), value.removeprefix("=")


def some(line: SshLine) -> tuple[str, ...]:
    """Return the words of a line.

    Raises:
        UsageError: there are none.
    """
    if not line.words or "" in line.words:
        raise line.wrong("names nothing")
    return line.words


def is_none(line: SshLine) -> bool:
    """Return whether a line says "none"."""
    return [word.lower() for word in line.words] == ["none"]


def one(line: SshLine) -> str:
    """Return the one word of a line.

    Raises:
        UsageError: there is none, or there are more.
    """
    if len(line.words) != 1 or not line.words[0] or has_controls(line.words[0]):
        raise line.wrong("takes one word of plain text")
    return line.words[0]


def port(line: SshLine, text: str) -> int:
    """Return the number of a port.

    Raises:
        UsageError: it is none.
    """
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0
    if not 0 < number < 65536:
        raise line.wrong(f"is a number from 1 to 65535, and not {text!r}")
    return number


def expanded(line: SshLine, text: str, tokens: dict[str, str]) -> str:
    """Return a text with its tokens replaced.

    Raises:
        UsageError: there is another token, or a variable of the environment.
    """
    if "${" in text:
        raise line.wrong("has a variable of the environment in it, which is not carried out: write it out")

    def replaced(match: re.Match[str]) -> str:
        if match[1] not in tokens and match[1] != "%":
            raise line.wrong(f"has the token {match[0]} in it, which is not carried out here: write it out")
        return tokens.get(match[1], "%")

    return _TOKEN.sub(replaced, text)
