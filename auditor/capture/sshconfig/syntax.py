"""Lines of an OpenSSH client configuration, cut into keyword and words as ssh does (ssh_config(5), OpenSSH 9)."""

from __future__ import annotations

import errno
import os
import re
from dataclasses import dataclass
from pathlib import Path

from auditor.capture.lines import printable
from auditor.errors import UsageError
from auditor.resources import read_bytes

_KEYWORD = re.compile(r"""(?P<keyword>[^\s="']+)(?:[ \t]*=[ \t]*|[ \t]+|$)(?P<rest>.*)""", re.DOTALL)
_BLANKS = " \t\r\f"
_LARGEST = 1024 * 1024
"""Bytes that no configuration comes near."""


@dataclass(frozen=True, slots=True)
class SshLine:
    """A line that says something.

    Attributes:
        file: as it was named; ``number`` counts from 1.
        keyword: as it is written.
        words: what follows, quotes taken off.
    """

    file: str
    number: int
    keyword: str
    words: tuple[str, ...]

    @property
    def name(self) -> str:
        """The keyword, in whatever letters it is written."""
        return self.keyword.lower()

    @property
    def place(self) -> str:
        """File and line, for messages."""
        return f"{self.file}:{self.number}"

    def wrong(self, why: str) -> UsageError:
        """Return the error that this line is."""
        return UsageError(f"{self.place}: {printable(self.keyword)} {why}")


def read(path: Path) -> tuple[SshLine, ...]:
    """Return the lines of a file that say something.

    Raises:
        UsageError: it cannot be read, or a line of it has no form.
    """
    try:
        if path.is_dir():
            raise UsageError(f"{path}: this is a folder, not an SSH configuration")
        data = b"" if path.exists() and path.samefile(os.devnull) else read_bytes(path, _LARGEST)
    except OSError as error:
        if error.errno == errno.EFBIG:
            raise UsageError(f"{path}: this is larger than any SSH configuration") from None
        raise UsageError(f"{path}: the SSH configuration cannot be read: {error.strerror or error}") from None
    found = []
    for number, text in enumerate(data.decode("utf-8", "surrogateescape").split("\n"), 1):
        line = text.strip(_BLANKS)
        if not line or line.startswith("#"):
            continue
        match = _KEYWORD.fullmatch(line)
        words = split(match["rest"]) if match else None
        if match is None or words is None:
            raise UsageError(f"{path}:{number}: a quote or an equals sign is where none can be: ssh refuses it, too")
        found.append(SshLine(str(path), number, match["keyword"], tuple(words)))
    return tuple(found)


def split(text: str) -> list[str] | None:
    """Return words: quotes and backslashes carried out, cut off at a comment; ``None`` where a quote is left open."""
    words: list[str] = []
    at = 0
    while at < len(text):
        if text[at] in " \t":
            at += 1
            continue
        if text[at] == "#":
            break
        word, quote = "", ""
        while at < len(text) and (quote or text[at] not in " \t"):
            sign, behind = text[at], text[at + 1 : at + 2]
            if sign == "\\" and behind and (behind in "'\"\\" or (behind == " " and not quote)):
                word += behind
                at += 1
            elif sign == quote:
                quote = ""
            elif sign in "'\"" and not quote:
                quote = sign
            else:
                word += sign
            at += 1
        if quote:
            return None
        words.append(word)
    return words
