"""What stands at the end of a device's output: its prompt, a pager, the question for a secret, or an unknown one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import Enum

from auditor.capture.lines import printable
from auditor.reading.source import shown_lines
from auditor.redact import REDACTED

SEQUENCES = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07]*\x07|[=>78])")
_TAIL = 400
_SEEN = 2000
"""Bytes at the end of the output in which a prompt, and in which the last rows are looked for."""
_LONGEST = 160
"""Characters of a question that are repeated."""

_PAGER = re.compile(
    r"-+ ?\(?more\b|<-+ ?more|\bmore: ?<space>|press any key|hit any key|\[q quit|\(q\)uit|press enter to continue",
    re.IGNORECASE,
)
_ANY_KEY = re.compile(r"(?!.*(?:\bmore\b|\bq(?:uit)?\b)).*(?:any key|enter)", re.IGNORECASE)
_PAGER_WORDS = re.compile(
    r"(?:[\s\d<>()\[\]|,.:+%-]|\(q\)uit|(?<![a-z])(?:more|next|page|one|line|lines|space|spacebar|bar|enter|return|cr"
    r"|quit|q|control|ctrl|c|z|d|dump|down|up|left|right|press|hit|any|key|to|continue|or|for|show|all|bytes)(?![a-z]))+",
    re.IGNORECASE,
)
"""A pager says nothing else than these words: a row that has others may ask for something."""

_DEMANDS = re.compile(
    r"(?<![\w.@-])(?:password|passwort|passphrase|passcode|kennwort|wachtwoord|contrasena|senha|parola|heslo|login"
    r"|user ?name|y/n|yes/no|j/n|o/n|s/n|accept|agree|licen[cs]e|eula|continue|confirm|choice|select|selection"
    r"|option|answer|press|enter|retype)(?![\w.-])",
    re.IGNORECASE,
)
_QUESTION = re.compile(r"[?:>\])}]$")
_PASSWORD = re.compile(
    r"(?:\([\w.@-]+\) )?(?:[\w.@-]+'s )?(?:(?:enter|enable|the|your|secret|login) ){0,3}pass(?:word|phrase|code)"
    r"(?: for [\w.@-]+)? ?:?",
    re.IGNORECASE,
)
_TOLD = re.compile(
    r"(?P<before>(?:pass(?:word|phrase|code)|passwor[dt]|kennwort|secret|key|pin|code|token|community)"
    r"(?:(?: is| was| ist)? ?[:=]| is| was| ist)? )"
    r"(?P<told>(?=\S*[\d!@#$%^&*_+])\S{4,}"
    r"|(?<=[:=] )\S+|(?<=(?:is|as|st) )(?!(?:about|already|blank|empty|expired|going|invalid|incorrect|not|now|old|only"
    r"|required|set|still|too|weak|wrong)\b)\S+)",
    re.IGNORECASE,
)
"""A secret that is told: the word behind its name that looks like one, or stands behind a colon or "is"."""


class Prompt:
    """A device's prompt: any that a pattern matches, or the one that is known.

    Args:
        pattern: what a prompt of the platform looks like.
        known: the text of this device's; what it looks like does not matter then.
    """

    def __init__(self, pattern: str, known: str = "") -> None:
        one = re.escape(known) if known else pattern
        self._end = re.compile(rf"(?:^|[\r\n])(?:(?:{one})\s*)*(?P<prompt>{one})\s*\Z".encode("latin-1"))
        self._pattern = re.compile(pattern)
        self._known = known

    def at_end(self, data: bytes | bytearray) -> str:
        """Return the prompt that stands at the end of the output; prompts that were not answered may stand before it.

        Empty, where there is none, text stands behind it, or it has words by which something is asked for.
        """
        match = self._end.search(SEQUENCES.sub(b"", bytes(data[-_TAIL:])))
        text = match["prompt"].decode("latin-1").strip() if match else ""
        return text if self._known or (self._is_bare(text) and not _DEMANDS.search(text)) else ""

    def _is_bare(self, text: str) -> bool:
        """Return whether nothing stands behind the prompt, as a pattern that is made for saved text allows."""
        ends = (end for end in range(1, len(text) + 1) if self._pattern.fullmatch(text[:end]))
        return next(ends, 0) == len(text) > 0


class Echo(Enum):
    """How a device shows a line that it was sent."""

    NONE = 0
    FIRST = 1
    BEHIND_TEXT = 2
    TWICE = 3


def echo_of(line: str, data: bytes | bytearray, prompt: re.Pattern[bytes], noise: re.Pattern[str]) -> Echo:
    """Return where the echo of a line stands in what arrived since it was sent.

    Before all else, where the device was waiting for it. Behind other text, or once more behind other text and another
    prompt, where it was still busy with what it was sent before.

    Args:
        line: what was sent.
        data: what arrived.
        prompt: what its prompt is.
        noise: what a device prints at any time.
    """
    wanted = line.encode("latin-1")
    bare, found = True, Echo.NONE
    for raw in bytes(data).split(b"\n"):
        if wanted in SEQUENCES.sub(b"", raw):
            shown = (shown_lines(raw) or [""])[-1].strip()
            own = prompt.sub(b"", shown.encode("latin-1", "replace")).strip() == wanted
            if own and found is not Echo.NONE and shown != line and not bare:
                return Echo.TWICE
            if own:
                found = found if found is not Echo.NONE else Echo.FIRST if bare else Echo.BEHIND_TEXT
                continue
        bare = bare and only_prompts(raw, prompt, noise)
    return found


def only_prompts(data: bytes | bytearray, prompt: re.Pattern[bytes], noise: re.Pattern[str]) -> bool:
    """Return whether there is nothing in some output but prompts and what a device prints at any time."""
    rows_of = (prompt.sub(b"", SEQUENCES.sub(b"", row)).strip() for row in bytes(data).split(b"\n"))
    return all(noise.match(row.decode("latin-1")) for row in rows_of if row)


def rows(data: bytes | bytearray) -> list[str]:
    """Return the last rows of the output that a terminal would show, without the blank ones."""
    return [row.strip() for row in shown_lines(bytes(data[-_SEEN:])) if row.strip()]


def is_pager(row: str) -> bool:
    """Return whether a row is what a pager shows, and nothing else."""
    return _PAGER.search(row) is not None and _PAGER_WORDS.fullmatch(row) is not None


def wants_any_key(row: str) -> bool:
    """Return whether a pager's row does not say that there is more to show, so that it may stand behind anything."""
    return _ANY_KEY.match(row) is not None


def asks_password(row: str) -> bool:
    """Return whether a row asks for the password as such: not for a new one, or for the old one once more."""
    return _PASSWORD.fullmatch(row) is not None


def may_ask(row: str) -> bool:
    """Return whether a row looks as if it waited for an answer."""
    return _QUESTION.search(row) is not None or _DEMANDS.search(row) is not None


def quoted(asked: list[str], secrets: Sequence[str | None] = ()) -> str:
    """Return the last rows of what a device shows as they may stand in a reason: harmless, and not too long.

    Secrets that are known are taken out, and what is told of one, as in "the password is …".
    """
    texts = []
    for row in asked[-2:]:
        text = row
        for secret in secrets:
            text = text.replace(secret, REDACTED) if secret else text
        texts.append(_TOLD.sub(lambda told: told["before"] + REDACTED, text))
    text = " ".join(printable(" ".join(texts)).split())
    return text if len(text) <= _LONGEST else "…" + text[1 - _LONGEST :]
