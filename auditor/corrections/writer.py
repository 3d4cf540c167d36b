"""What a platform's pieces are written with: lines that go and come, the other way round for the undo."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from auditor.platforms.render import fit, part

_ENDS = ("!", "exit")
"""Captured lines that only end a section."""
_CALLED = ("inside", "within", "said", "put", "leaf", "kept", "swap", "exchange", "again", "drop", "toggle", "turned")
"""What templates may call."""


@dataclass(slots=True)
class Writer:
    """Writes lines as a dialect does.

    Attributes:
        style: ``no`` and ``yes``, what stands before a line that goes or comes; ``indent`` and, by the
            first word of a section, ``indents``; ``ends``, the same way, the line that ends it.
        undoing: whether the undo is asked for.
        lines_of: the captured lines below a first line.
        open: the sections that are being written.
    """

    style: Mapping[str, Any]
    undoing: bool
    lines_of: Callable[[str], list[str]]
    open: list[str] = field(default_factory=list)

    def values(self) -> dict[str, Callable[..., str]]:
        """Return what templates call, by name."""
        return {name: getattr(self, name) for name in _CALLED}

    def line(self, text: str, comes: bool = True) -> str:
        """Return a line that comes, or goes."""
        before: str = self.style.get("yes", "") if comes else self.style.get("no", "")
        return before + text

    def inside(self, header: str, caller: Callable[[], str]) -> str:
        """Return what is written in a section, with its first line; nothing where nothing is."""
        self.open.append(header.strip())
        try:
            written = [line for line in caller().splitlines() if line.strip()]
        finally:
            place = self.open.pop()
        if not written:
            return ""
        kind = place.split(" ")[0]
        indents, end = self.style.get("indents", {}), self.style.get("ends", {}).get(kind)
        indent = " " * indents.get(kind, self.style.get("indent", 0))
        return _text([place, *(indent + line for line in written), *([end] if end else [])])

    def within(self, text: str, *headers: str) -> str:
        """Return lines in the sections that are entered for them, the outermost first."""
        if not headers:
            return text
        return self.inside(headers[0], lambda: self.within(text, *headers[1:]))

    def said(self, header: str, pattern: str, other: str = "") -> str:
        """Return the first captured line of a kind in a section, or its part in brackets; else the other text."""
        return next(iter(part(self.lines_of(header), pattern)), other)

    def put(self, head: str, value: Any, pattern: str = ".+", form: str = "{}") -> str:
        """Return the line that sets something to a value, or takes it away where there is none."""
        if value is None or value in ("", ()):
            return self.line(head, comes=False)
        words = value if isinstance(value, str | int) else " ".join(map(str, value))
        return self.line(f"{head} {form.format(fit(str(words), pattern))}")

    def kept(self, head: str, value: Any, pattern: str = ".+", form: str = "{}", like: str = "") -> str:
        """Return the same; for the undo, the captured lines of its kind in this section, or what takes it away."""
        if not self.undoing:
            return self.put(head, value, pattern, form)
        there = part(self.lines_of(self.open[-1]), f"({like or head + ' .*'})")
        return _text(there or [self.line(head, comes=False)])

    def swap(self, old: Iterable[Any] | None, new: Iterable[Any] | None, form: str = "{}") -> str:
        """Return the lines for values that go and those that come, from ``before`` to ``item``."""
        old, new = list(old or ()), list(new or ())
        gone = [self.line(form.format(fit(str(value))), comes=False) for value in old if value not in new]
        return _text([*gone, *(self.line(form.format(fit(str(value)))) for value in new if value not in old)])

    def exchange(self, gone: Iterable[Any], come: Iterable[Any], form: str = "{}") -> str:
        """Return lines that go and lines that come as planned; the other way round in the undo, always away first."""
        gone, come = (list(come), list(gone)) if self.undoing else (list(gone), list(come))
        away = [self.line(form.format(value), comes=False) for value in gone if value not in come]
        return _text([*away, *(self.line(form.format(value)) for value in come if value not in gone)])

    def leaf(self, head: str, old: Any, new: Any, pattern: str = ".+", form: str = "{}") -> str:
        """Return the line for a value that is planned in the place of another; for the undo, for the old one."""
        return self.put(head, old if self.undoing else new, pattern, form)

    def again(self, header: str) -> str:
        """Return a section as it was captured."""
        lines = [line for line in self.lines_of(header) if line not in _ENDS]
        return self.inside(header, lambda: _text(lines)) or f"{header}\n"

    def drop(self, header: str) -> str:
        """Return what takes a section away; for the undo, the section as it was captured."""
        return self.again(header) if self.undoing else self.line(header, comes=False)

    def toggle(self, text: str, on: bool = True) -> str:
        """Return a line that comes if something is to be on as planned and otherwise goes; taken back in the undo."""
        return self.line(text, comes=bool(on) != self.undoing)

    def turned(self, ways: Mapping[str, Any], old: Iterable[str] | None, new: Iterable[str] | None) -> str:
        """Return the lines for what is switched on or off: by its name a line, or one for on and one for off."""
        old, new, lines = old or (), new or (), []
        for name, way in ways.items():
            if (name in old) != (name in new):
                both = (self.line(way), self.line(way, comes=False)) if isinstance(way, str) else way
                lines.append(both[name not in new])
        return _text(lines)


def _text(lines: Iterable[str]) -> str:
    return "".join(f"{line}\n" for line in lines)
