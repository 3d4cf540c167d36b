"""What is one line: where text ends a line, and what has no place in a line that is sent or shown."""

from __future__ import annotations

import unicodedata

_CONTROLS = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Unicode's categories of control characters, of halves of a character, and of what ends a line or a paragraph."""


def has_controls(text: str) -> bool:
    """Return whether anything in a text could end a line or steer a terminal."""
    return any(unicodedata.category(character) in _CONTROLS for character in text)


def without_line_end(text: str) -> str:
    """Return a text without the line end that it ends with; of several, one is taken off."""
    return next((text.removesuffix(end) for end in ("\r\n", "\n", "\r") if text.endswith(end)), text)


def printable(text: str) -> str:
    """Return a text with a dot in the place of whatever would not be shown as it is."""
    return "".join(character if character.isprintable() else "·" for character in text)
