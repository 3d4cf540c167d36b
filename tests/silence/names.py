"""Names of changes: readable, the same for like lines, without what somebody made up, and secrets least of all.

What stays of a line are the words that the dialect's own templates know. Numbers become N, quoted text "…", and all
other words, which are names, descriptions and secrets, become ….
"""

from __future__ import annotations

import re
from functools import cache

from auditor.platforms import catalogue
from tests.conftest import ROOT
from tests.silence.changes import INVENTED

_CHUNK = re.compile(r""""(?:[^"\\]|\\.)*"?|'[^']*'?|[^\s="',;{}\[\]()]+""")
_PIECE = re.compile(r"(?P<word>[^\W\d]+(?:[-_][^\W\d_]+)*)|(?P<number>\d+)|.")
_WORD = re.compile(r"[A-Za-z]+(?:[-_][A-Za-z]+)*")
_HARDWARE = re.compile(r"(?:[0-9A-Fa-f]{2}[:-]){5}[0-9A-Fa-f]{2}|(?:[0-9A-Fa-f]{4}\.){2}[0-9A-Fa-f]{4}")
_NUMBERS = re.compile(r"N(?:[./:,_-]+N)+")
_NAMES = re.compile(r"[N./:,_@*-]*…[…N./:,_@*-]*")
_KEY = re.compile(r"([\w.-]+)=$")
_COLLAPSED = (
    (re.compile(r"[A-Za-z]+Ethernet(?=N)"), "Ethernet"),
    (re.compile(r"(?:…,? )*\[…\](?:,? …)*"), "[…]"),
    (re.compile(r"(?:N, ?)*\[N\](?:, ?N)*"), "[N]"),
    (re.compile(r"…(?:,? …)+"), "…"),
    (re.compile(r"N(?:, ?N)+"), "N"),
)
"""What is told of lists, of many words in a row, and of ports of any speed, is the same for all of them."""
_FILES = ("platform.yaml", "expected.cfg.j2", "*.textfsm")


@cache
def vocabulary(platform: str) -> frozenset[str]:
    """Return the words that a dialect's templates and data know, as they stand there; nothing that comments say."""
    folder = ROOT / "templates" / "platforms" / platform
    found: set[str] = set()
    for path in sorted(path for form in _FILES for path in folder.glob(form)):
        text = re.sub(r"(?m)^\s*\{?#.*$", "", path.read_text(encoding="utf-8"))
        text = re.sub(r"\\[a-zA-Z]", " ", text)
        for match in _WORD.finditer(text):
            found |= {match[0], *re.split(r"[-_]", match[0])}
    like = catalogue.get(platform).like
    return frozenset(found) | (vocabulary(like) if like else frozenset())


class Wordings:
    """The lines of one file, by what may be told of them.

    Args:
        platform: the dialect.
        lines: as they stand.
        redacted: the same without secrets.
    """

    def __init__(self, platform: str, lines: list[str], redacted: list[str]) -> None:
        self._known = vocabulary(platform)
        self._lines = lines
        self._redacted = redacted

    def text(self, text: str, like: int) -> str:
        """Return what may be told of an invented line that has words of a line that is there."""
        return "".join(self._told(text, like, None, "")).strip()

    def of(self, number: int, changed: tuple[int, int] | None = None, swapped: str = "") -> str:
        """Return what may be told of a line.

        Args:
            number: its index.
            changed: where in it something is changed; what stands there goes into brackets.
            swapped: the word of the trade that takes the place of another.
        """
        told = self._told(self._lines[number], number, changed, swapped).strip()
        for form, short in _COLLAPSED:
            told = form.sub(short, told)
        return told

    def value(self, number: int, changed: tuple[int, int], swapped: str = "") -> str:
        """Return the same of one value of a line of key=value alone, with its key."""
        line = self._lines[number]
        for match in _CHUNK.finditer(line):
            if match.start() < changed[1] and changed[0] < match.end():
                key = _KEY.search(line, 0, match.start())
                if line[match.end() : match.end() + 1] == "=":
                    return self._told(line[match.start() : match.end()], number, (0, match.end()), swapped) + "="
                told = self._told(line[match.start() : match.end()], number, (0, match.end()), swapped)
                return f"{self._plain(key[1])}={told}" if key else told
        return self.of(number, changed, swapped)

    def _told(self, line: str, number: int, changed: tuple[int, int] | None, swapped: str) -> str:
        left = {*_CHUNK.findall(self._redacted[number]), INVENTED}
        parts, end = [], 0
        for match in _CHUNK.finditer(line):
            parts.append(re.sub(r"\s+", " ", line[end : match.start()]))
            end = match.end()
            told = self._chunk(match[0]) if match[0] in left else "…"
            if changed and match.start() < changed[1] and changed[0] < match.end():
                told = f"[{told}>{swapped}]" if swapped else f"[{told}]"
            parts.append(told)
        return "".join((*parts, re.sub(r"\s+", " ", line[end:])))

    def _chunk(self, text: str) -> str:
        if text[0] not in "\"'":
            return self._plain(text)
        inner = text.strip(text[0])
        told = self._plain(inner) if inner and not re.search(r"\s", inner) else ""
        return f'"{told}"' if told and "…" not in told else '"…"' if inner else '""'

    def _plain(self, text: str) -> str:
        told = "".join(self._piece(match) for match in _PIECE.finditer(_HARDWARE.sub("0", text)))
        return _NAMES.sub("…", _NUMBERS.sub("N", told))

    def _piece(self, match: re.Match[str]) -> str:
        if match["number"]:
            return "N"
        word = match["word"]
        if not word:
            return match[0] if match[0].isascii() else "…"
        return word if self.knows(word) else "…"

    def knows(self, word: str) -> bool:
        """Return whether a word is the dialect's."""
        return word == INVENTED or word in self._known or all(part in self._known for part in re.split(r"[-_]", word))
