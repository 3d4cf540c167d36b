"""Text of devices and of people, made harmless for a screen: what controls or reorders text becomes visible."""

from __future__ import annotations

import unicodedata

_WIDE = 2000
"""Longest text of a device that is shown whole; a longer one is cut, and says so."""


def sanitize(text: str) -> str:
    """Return text of a device as it may stand on a screen: what controls or reorders text becomes visible."""
    shown = "".join(_visible(character) for character in text[:_WIDE])
    cut = len(text) - _WIDE
    return f"{shown}… ({cut} more characters)" if cut > 0 else shown


def _visible(character: str) -> str:
    if character == "\t":
        return "  "
    nothing = ord(character) & 0xFFFE == 0xFFFE  # U+FFFE and the like are no characters, and XML allows none of them
    if nothing or unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp"):
        return f"\\u{ord(character):04x}"
    return character
