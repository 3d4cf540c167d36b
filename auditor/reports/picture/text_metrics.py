"""Text in the picture: how wide it is, how it is shortened, how a line is written."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

from auditor.reports.picture.scene import DASH, TextLine
from auditor.reports.picture.shapes import ShapeGroup, Sign, TextShape

NAME_SIZE, TEXT_SIZE = 14, 12
"""Font sizes. The picture is shown at this size or larger, on paper a little smaller."""
ADVANCE = 0.62
"""Width of a character over the font size: common monospaced fonts have 0.55 to 0.61."""
SIGN = 16
"""Room for a sign before a line of text."""
LINE = 16
PAD = 10
BASELINE = 12
"""From the top of a line to the foot of its letters."""


def cells(text: str) -> int:
    """Return how many columns a text takes: wide characters of East Asian scripts and signs take two (UAX #11)."""
    return sum(2 if unicodedata.east_asian_width(character) in "WF" else 1 for character in text)


def text_width(text: str, size: int = TEXT_SIZE) -> int:
    """Return the estimated width of a text in pixels, rounded up."""
    return int(cells(text) * size * ADVANCE) + 1


def fitted(text: str, width: int, size: int = TEXT_SIZE) -> str:
    """Return a text as it is, or its beginning and an ellipsis, so that it fits."""
    if text_width(text, size) <= width:
        return text
    text = text[: max(width, 0)]  # no character is narrower than a pixel
    while text and text_width(text + "…", size) > width:
        text = text[:-1]
    return text + "…"


def both_ports(ports: tuple[str, str], width: int) -> str:
    """Return both ends of a link, from the upper to the lower, in as many letters as there is room for."""
    whole = DASH.join(ports)
    return whole if text_width(whole) <= width else DASH.join(short_port(port, width // 3) for port in ports)


def short_port(port: str, width: int) -> str:
    """Return a port's name, without the word before its numbers where there is no room for it."""
    if text_width(port) <= width:
        return port
    number = port.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-")
    return number or port


def lettered(text: str, width: int, kind: str, *, size: int = TEXT_SIZE, whole: str = "") -> TextShape:
    """Return a text without a place, shortened to fit; ``whole`` is what it is short for, if not itself."""
    shown = fitted(text, width, size)
    whole = whole or text
    return TextShape(0, 0, shown, kind, whole="" if shown == whole else whole, length=text_width(shown, size))


def write(group: ShapeGroup, line: TextLine, at: tuple[int, int], width: int, kind: str) -> None:
    """Write a line of text below and right of a point: its sign, its text as far as it fits, what stands at its end."""
    if not line.text:
        return
    x, y = at
    if line.tone and line.sign:
        group.signs.append(Sign(x + 5, y + 8, line.tone))
        x, width = x + SIGN, width - SIGN
    if line.right:
        end = lettered(line.right, width, f"{kind} dim")
        group.texts.append(replace(end, x=x + width, y=y + BASELINE, anchor="end"))
        width -= end.length + PAD // 2
    text = lettered(line.text, width, f"{kind} {line.tone}".rstrip())
    group.texts.append(replace(text, x=x, y=y + BASELINE))
