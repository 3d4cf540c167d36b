"""Layouts: the few ways in which dialects put sections into text. Each is one function from lines to sections."""

from __future__ import annotations

from collections.abc import Callable

from auditor.platforms.definition import Platform
from auditor.reading.layouts import indented, statements, uci
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Lines

LAYOUTS: dict[str, Callable[[Lines, Platform, Rules], list[Section]]] = {
    "indented": indented.cut,
    "statements": statements.cut,
    "uci": uci.cut,
}
"""By the word that stands in platform.yaml under ``layout: {kind: …}``."""
