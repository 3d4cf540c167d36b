"""What the review of a plan has to say, on a terminal."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from rich.console import Console
from rich.text import Text

from auditor.reports.sanitize import sanitize
from auditor.review import LEVELS, Remark

_STYLES = {"error": "bold red", "warning": "bold yellow", "note": "bold cyan"}


def show_review(found: Mapping[Path, list[Remark]], console: Console | None = None, *, sources: bool = False) -> None:
    """Print a line a remark, and one with the figures a plan."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    for path, remarks in found.items():
        for remark in remarks:
            place = f"{sanitize(remark.file)}:{remark.line}: "
            text = f": {sanitize(remark.key)}: {sanitize(remark.text)} [{remark.rule.name}]"
            out.print(Text(place) + Text(remark.rule.level, _STYLES[remark.rule.level]) + Text(text))
            if sources:
                out.print(Text(f"    {remark.rule.sentence} {remark.rule.source}", "dim"))
        counts = Counter(remark.rule.level for remark in remarks)
        told = ", ".join(f"{counts[level]} {level}{'' if counts[level] == 1 else 's'}" for level in LEVELS)
        verdict = "the plan is sound" if not (counts["error"] or counts["warning"]) else told
        out.print(Text(f"{sanitize(str(path))}: {verdict}", "bold"))
