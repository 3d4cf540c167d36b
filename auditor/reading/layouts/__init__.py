"""Layouts: the few ways in which dialects put sections into text. Each is one function from lines to sections."""

from __future__ import annotations

from collections.abc import Callable

from auditor.platforms.definition import Platform, SectionRule
from auditor.reading.layouts import indented, statements, table, tree, uci
from auditor.reading.rows import Preparation, as_it_stands
from auditor.reading.sections import Rules, Section
from auditor.reading.source import Lines

LAYOUTS: dict[str, Callable[[Lines, Platform, Rules], list[Section]]] = {
    "indented": indented.cut,
    "statements": statements.cut,
    "uci": uci.cut,
    "braces": tree.cut,
    "words": tree.cut,
    "table": table.cut,
}
"""By the word that stands in platform.yaml under ``layout: {kind: …}``."""


def _as_it_stands(platform: Platform, rule: SectionRule) -> Preparation:  # noqa: ARG001 - the same for all
    return as_it_stands


PREPARATIONS: dict[str, Callable[[Platform, SectionRule], Preparation]] = {
    "indented": indented.preparation,
    "statements": _as_it_stands,
    "uci": _as_it_stands,
    "braces": _as_it_stands,
    "words": _as_it_stands,
    "table": table.preparation,
}
"""What makes of a section's body the lines that its template reads."""
