"""A site's audits on a terminal: a line a run, then what came and went since the last but one."""

from __future__ import annotations

import sys

from rich.console import Console
from rich.text import Text

from auditor.core.history import Run, SiteHistory
from auditor.core.report import CONSEQUENCES
from auditor.reports.changes import courses, since_words
from auditor.reports.headline import verdict_words
from auditor.reports.sanitize import sanitize

_STYLES = {"conforming": "green", "nonconforming": "yellow", "incomplete": "magenta"}
_HEAD = ("audited", "captures of", "occasion", "verdict", *CONSEQUENCES, "approved", "devices not audited")


def show_history(history: SiteHistory, console: Console | None = None) -> None:
    """Print a site's audits, the newest first."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    reference = f" ({sanitize(history.reference)})" if history.reference else ""
    count = len(history.runs)
    told = {0: "no audit of it is kept", 1: "1 audit is kept"}.get(count, f"{count} audits are kept")
    out.print(Text(f"{sanitize(history.site)}{reference}", "bold") + Text(f" · {told}", "not bold"))
    if not history.runs:
        return
    out.print()
    rows = [_HEAD, *(_row(run) for run in history.runs)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEAD) - 1)]
    for number, row in enumerate(rows):
        *about, verdict = (cell.ljust(width) for cell, width in zip(row[:4], widths[:4], strict=True))
        figures = (cell.rjust(width) for cell, width in zip(row[4:-1], widths[4:], strict=True))
        style = _STYLES[history.runs[number - 1].verdict] if number else "bold"
        rest = "  ".join(["", *figures, row[-1]]).rstrip()
        out.print(
            Text("".join(f"{cell}  " for cell in about), "" if number else "bold")
            + Text(verdict, style)
            + Text(rest, "" if number else "bold")
        )
    if history.since:
        out.print()
        out.print(Text(since_words(history.since).line, "bold"))
        for title, texts in courses(history.since):
            out.print(Text(title, "bold"))
            for text in texts:
                out.print(Text(f"  {text}"))


def _row(run: Run) -> tuple[str, ...]:
    unread = ", ".join(sanitize(device.name) for device in run.devices if device.outcome != "audited")
    return (
        f"{run.at:%Y-%m-%d %H:%M}",
        str(run.captured or ""),
        run.occasion,
        verdict_words(run.verdict, nonconforming=any(run.open.values())),
        *(str(run.open[consequence]) for consequence in CONSEQUENCES),
        str(run.counts.approved),
        unread,
    )
