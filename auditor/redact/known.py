"""Secrets that are known word for word, in whatever spelling they are written."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from urllib.parse import quote

from auditor.redact.looks import Span
from auditor.redact.marks import REDACTED

SHORTEST = 4
"""Characters of which a secret has at least that is looked for by its words: a shorter one is in every text."""


@lru_cache(maxsize=4096)
def spelt(text: str) -> re.Pattern[str]:
    """Return the pattern of a text as it is written: plain, with signs escaped, in URLs and in XML."""
    return re.compile("".join(map(_sign, text)))


def _sign(sign: str) -> str:
    """Return the pattern of a sign in any spelling."""
    if sign.isascii() and sign.isalnum():
        return sign
    octets = sign.encode(errors="surrogateescape")
    ways = {re.escape(sign), rf"\\+{re.escape(sign)}", "".join(f"\\\\{octet:02X}" for octet in octets)}
    ways |= {re.escape(html.escape(sign)), re.escape(quote(octets, safe=""))}
    if sign == "'":
        ways |= {r"'\\''", "&#39;", "&apos;"}
    if sign == " ":
        ways |= {r"\+", r"\\_"}
    return "(?:" + "|".join(sorted(ways, key=lambda way: (-len(way), way))) + ")"


class KnownSecrets:
    """Secrets that are known word for word.

    Args:
        secrets: the secrets; those of fewer than four characters are left out.
        words: words that stand in configurations anyway. A secret that is one of them is hidden where the rules for
            secrets find one, and nowhere else: a configuration without its own words could not be read.
    """

    def __init__(self, secrets: Iterable[str], words: frozenset[str] = frozenset()) -> None:
        known = {secret for secret in secrets if len(secret.strip()) >= SHORTEST and secret.lower() not in words}
        known = {secret for secret in known if secret not in REDACTED}
        self.secrets = sorted(known, key=lambda secret: (-len(secret), secret))
        self._patterns = [_anywhere(secret) for secret in self.secrets]

    def spans(self, text: str) -> Iterator[Span]:
        """Yield where a text has one of them."""
        for pattern in self._patterns:
            for match in pattern.finditer(text):
                yield match.span()

    def without(self, text: str) -> str:
        """Return a sentence of ours with none of them in it, whatever a device or a library has put there."""
        for pattern in self._patterns:
            text = pattern.sub(REDACTED, text)
        return text


def is_distinctive(secret: str) -> bool:
    """Return whether a secret is found within a longer word, too: long, and of more than letters or digits alone."""
    return len(secret) >= 8 and not secret.isalpha() and not secret.isdigit()


def _anywhere(secret: str) -> re.Pattern[str]:
    pattern = spelt(secret).pattern
    if is_distinctive(secret):
        return re.compile(pattern)
    before, after = (r"(?<![^\W_])" if secret[0].isalnum() else ""), (r"(?![^\W_])" if secret[-1].isalnum() else "")
    return re.compile(f"{before}{pattern}{after}")
