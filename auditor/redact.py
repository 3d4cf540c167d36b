"""Takes secrets out of configuration text, line by line and by what the platform says they look like."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from auditor.platforms import catalogue

REDACTED = "<redacted>"


@cache
def _pattern(platform: str) -> re.Pattern[str] | None:
    secrets = catalogue.get(platform).secrets
    return (
        re.compile("|".join(f"(?:{secret})" for secret in secrets), re.MULTILINE | re.IGNORECASE) if secrets else None
    )


def redact(platform: str, lines: list[str], seals: Mapping[str, str] | None = None) -> list[str]:
    """Return the same lines with every secret replaced; a secret that is wrapped over lines is taken out of all.

    Each pattern under ``secrets`` in platform.yaml has what comes before the secret as its first group and the
    secret itself as its second. ``seals`` has what stands in the place of some secrets, by their text.
    """
    pattern = _pattern(platform)
    if pattern is None or not lines:
        return lines
    known = {**(seals or {}), **{seal: seal for seal in (seals or {}).values()}}

    def hidden(match: re.Match[str]) -> str:
        kept, secret = [group for group in match.groups() if group is not None][:2]
        text = secret.strip()
        quote = text[:1] if text[:1] in ("'", '"') and text.endswith(text[:1]) else ""
        bare = text.removeprefix(quote).removesuffix(quote) if quote else text
        if bare in known:
            return f"{kept}{quote}{known[bare]}{quote}" + "\n" * secret.count("\n")
        return kept + REDACTED + "\n" * secret.count("\n")

    before, text = "", "\n".join(lines)
    while text != before:  # a secret may stand among what comes before another one
        before, text = text, pattern.sub(hidden, text)
    return text.split("\n")
