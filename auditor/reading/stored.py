"""Whether a text is the configuration that a device starts with, and not the one that it runs."""

from __future__ import annotations

import re

from auditor.reading.source import Disposition, Lines

_AROUND = (Disposition.COMMENT, Disposition.NOISE)
"""What such lines are to those who cut a text: in a banner or a description they would say nothing."""


def stored_at(lines: Lines, pattern: re.Pattern[str]) -> int | None:
    """Return the number of the line that says so; ``None`` where none does."""
    found = (number for kind in _AROUND for number in lines.numbered(kind))
    return next((number for number in sorted(found) if pattern.fullmatch(lines.texts[number - 1].strip())), None)
