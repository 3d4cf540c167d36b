"""Takes secrets out of configuration text, line by line and by what the platform says they look like."""

from __future__ import annotations

import re
from functools import cache

from auditor.platforms import catalogue

REDACTED = "<redacted>"


@cache
def _pattern(platform: str) -> re.Pattern[str] | None:
    secrets = catalogue.get(platform).secrets
    return (
        re.compile("|".join(f"(?:{secret})" for secret in secrets), re.MULTILINE | re.IGNORECASE) if secrets else None
    )


def redact(platform: str, lines: list[str]) -> list[str]:
    """Return the same lines with every secret replaced; a secret that is wrapped over lines is taken out of all.

    Each pattern under ``secrets`` in platform.yaml has what comes before the secret as its first group and the
    secret itself as its second.
    """
    pattern = _pattern(platform)
    if pattern is None:
        return lines
    return pattern.sub(_hidden, "\n".join(lines)).split("\n")


def _hidden(match: re.Match[str]) -> str:
    kept, secret = [group for group in match.groups() if group is not None][:2]
    return kept + REDACTED + "\n" * secret.count("\n")
