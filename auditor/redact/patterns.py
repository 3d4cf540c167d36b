"""Secrets that only their dialect knows: what platform.yaml says of them, made quick to look for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, partial
from itertools import islice, pairwise

from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from auditor.redact.looks import Span, on_lines

_OTHER = "\0"
_CLASSES = re.compile(r"\[\^?(?:\\.|[^\]\\])+\]|\\[SsdDwWbB]")
_COUNTS = ("?", "*", "{")


def by_dialect(platform: Platform, text: str, small: str) -> Iterator[Span]:
    """Yield what a dialect's own patterns find, on lines or within its sections; ``small`` is the text lowered."""
    for literal, pattern in _patterns(platform.name):
        yield from map(_secret, on_lines(text, small, [literal], pattern))
    for opening, ending, patterns in _within(platform.name):
        behind = 0
        for opens in opening.finditer(text):
            if opens.start() >= behind:
                ends = ending.search(text, opens.end())
                behind = ends.start() if ends else len(text)
                for pattern in patterns:
                    yield from map(_secret, pattern.finditer(text, opens.end(), behind))


_compiled = partial(re.compile, flags=re.MULTILINE | re.IGNORECASE)


@cache
def _within(platform: str) -> list[tuple[re.Pattern[str], re.Pattern[str], list[re.Pattern[str]]]]:
    """Return for each kind of section with secrets of its own what it begins with, what is behind it, the secrets."""
    return [
        (_compiled(rf"^[ \t]*(?:{rule.opens})"), _compiled(f"^(?:{rule.ends})"), list(map(_compiled, rule.secrets)))
        for rule in catalogue.get(platform).secrets_within
    ]


@cache
def _patterns(platform: str) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Return the patterns of a platform, each with a text that is in all that it matches, if one is told."""
    secrets = catalogue.get(platform).secrets_anywhere
    return tuple((_literal(secret), _compiled(secret)) for secret in secrets)


def _secret(match: re.Match[str]) -> Span:
    """Return the second group that took part in a match."""
    groups = (match.span(number) for number in range(1, match.re.groups + 1) if match[number] is not None)
    return next(islice(groups, 1, None))


def _literal(pattern: str) -> str:
    """Return the longest text that a pattern's first group must have, told by its form; a line end where none is."""
    depth, found = 0, [""]
    for sign, following in pairwise(_CLASSES.sub(_OTHER, pattern) + _OTHER):
        depth += (sign == "(") - (sign == ")")
        if depth == 0 or (depth == 1 and sign == "|"):
            break
        if depth == 1 and (sign.isalpha() or sign in " -") and following not in _COUNTS:
            found[-1] += sign
        elif found[-1]:
            found.append("")
    told = max(found, key=len).lower() if depth == 0 else ""
    return told if len(told) > 1 else ""
