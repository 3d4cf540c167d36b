"""Patterns of hosts, as ssh_config(5) has them under PATTERNS."""

from __future__ import annotations

from collections.abc import Iterable


def fits(name: str, pattern: str) -> bool:
    """Return whether a pattern with ``*`` and ``?`` is about a name, to the letter."""
    at = here = 0
    star, behind = -1, 0
    while at < len(name):
        if here < len(pattern) and pattern[here] == "*":
            star, behind = here, at
            here += 1
        elif here < len(pattern) and pattern[here] in ("?", name[at]):
            at, here = at + 1, here + 1
        elif star >= 0:
            behind += 1
            at, here = behind, star + 1
        else:
            return False
    return not pattern[here:].strip("*")


def among(name: str, patterns: Iterable[str]) -> bool | None:
    """Return whether a name is among patterns; ``None`` where one with ``!`` before it shuts it out."""
    found = False
    for pattern in patterns:
        if pattern.startswith("!"):
            if fits(name, pattern[1:]):
                return None
        elif fits(name, pattern):
            found = True
    return found
