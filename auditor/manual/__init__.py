"""The manual's pages: Markdown files in this folder, each with a title and a line that says what it is about."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from importlib.resources import files

from auditor.errors import UsageError

NAMES = (
    "audit",
    "plan",
    "platforms",
    "live",
    "evidence",
    "history",
    "corrections",
    "secrets",
    "python",
    "glossary",
    "changes",
)
"""The pages in the order in which somebody new would read them."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page.

    Attributes:
        name: what it is asked for by.
        about: what it is about, in a line.
        text: all of it, in Markdown.
    """

    name: str
    about: str
    text: str


def pages() -> list[Page]:
    """Return all pages, in their order."""
    return [_read(name) for name in NAMES]


def page(name: str) -> Page:
    """Return a page.

    Raises:
        UsageError: there is none of this name; says which one was perhaps meant.
    """
    if name not in NAMES:
        near = difflib.get_close_matches(name.lower().removesuffix(".md"), NAMES, 1, 0.5)
        hint = f": did you mean {near[0]}?" if near else "."
        raise UsageError(f"the manual has no page {name!r}{hint} Its pages: {', '.join(NAMES)}")
    return _read(name)


def _read(name: str) -> Page:
    text = files("auditor.manual").joinpath(f"{name}.md").read_text(encoding="utf-8")
    _, _, below = text.partition("\n\n")
    about, _, _ = below.partition("\n")
    return Page(name, about, text)
