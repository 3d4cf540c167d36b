"""What a finished picture consists of: boxes, lines, texts and signs at whole CSS pixels."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Anchor = Literal["start", "end"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle. ``kind`` is what it is, for its colours."""

    x: int
    y: int
    width: int
    height: int
    kind: str


@dataclass(frozen=True, slots=True)
class TextShape:
    """A line of text at its baseline; ``whole`` is set where ``shown`` is shortened.

    ``length`` is the width that it may take: text in characters of unknown width is squeezed into it.
    """

    x: int
    y: int
    shown: str
    kind: str
    anchor: Anchor = "start"
    whole: str = ""
    length: int = 0


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign of 10 by 10 pixels around its middle."""

    x: int
    y: int
    tone: str


@dataclass(frozen=True, slots=True)
class Wire:
    """A line through corners: solid, dashed where something leaks, dotted where nobody knows."""

    points: tuple[tuple[int, int], ...]
    kind: str

    @property
    def path(self) -> str:
        """The corners as SVG path data."""
        return "M" + " L".join(f"{x} {y}" for x, y in self.points)


@dataclass(slots=True)
class ShapeGroup:
    """What belongs together, with its words."""

    kind: str
    words: str
    boxes: list[Box] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    texts: list[TextShape] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)


@dataclass(slots=True)
class Picture:
    """A finished picture of ``width`` by ``height`` pixels, and whether it fits into the room it was made for."""

    kind: str
    title: str
    words: list[str]
    linked: bool
    fits: bool = True
    width: int = 0
    height: int = 0
    groups: list[ShapeGroup] = field(default_factory=list)
