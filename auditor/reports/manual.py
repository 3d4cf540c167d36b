"""Pages of the manual on standard output: the Markdown as it is, with headings in bold on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from auditor.manual import Page


def show_pages(found: Iterable[Page], console: Console | None = None) -> None:
    """Print which pages there are, a line each."""
    out, each = console or _console(), list(found)
    width = max(len(page.name) for page in each)
    for page in each:
        out.print(Text.assemble((page.name.ljust(width), "bold"), f"  {page.about}"))
    out.print()
    out.print(Text('"auditor manual PAGE" shows one of them.'))


def show_page(page: Page, console: Console | None = None) -> None:
    """Print a page. What goes elsewhere than to a terminal is the page to the letter."""
    out, fenced = console or _console(), False
    for line in page.text.splitlines():
        fenced ^= line.startswith("```")
        out.print(Text(line, "bold" if line.startswith("#") and not fenced else ""))


def _console() -> Console:
    return Console(file=sys.stdout, highlight=False, soft_wrap=True)
