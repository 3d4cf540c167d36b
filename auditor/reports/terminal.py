"""The report on a terminal. Text of devices goes in as plain text, never as markup."""

from __future__ import annotations

import sys

from rich.console import Console
from rich.text import Text

from auditor.reports.changes import since_words
from auditor.reports.dating import capture_days
from auditor.reports.deviation_entry import NOTE
from auditor.reports.view import FindingView, View

_VERDICT_STYLES = {"conforming": "bold green", "nonconforming": "bold yellow", "incomplete": "bold magenta"}
_CONSEQUENCE_STYLES = {"exposure": "bold red", "outage": "bold yellow", "upkeep": "bold cyan", "approved": "bold"}
_MOST_SETTINGS = 6


def show(view: View, console: Console | None = None) -> None:
    """Print a report to standard output, in colour only on a terminal."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    report = view.report
    out.print(Text(view.title, "bold"), Text(f"· {report.occasion} · {report.audited_on}"))
    out.print(Text(view.verdict.upper(), _VERDICT_STYLES[report.verdict]), Text(view.headline))
    out.print(Text(view.summary))
    if view.serving.summary:
        out.print(Text(view.serving.summary))
    since = since_words(report.since)
    if since.line:
        out.print(Text(since.line))
    out.print()
    _devices(view, out)
    for words in capture_days(report).lines:
        out.print(Text(words))
    for group in view.groups:
        out.print()
        out.print(Text(group.title, _CONSEQUENCE_STYLES[group.consequence]))
        for finding in group.findings:
            _finding(finding, out, since.marks)
    _lists(since.lists, out)
    if view.proposals:
        out.print()
        out.print(Text(view.proposals))
    _rest(view, out)


def one_line(view: View) -> str:
    """Return the result in one line, for a run that should be quiet."""
    since = since_words(view.report.since)
    result = view.headline[:1].lower() + view.headline[1:]
    return f"{view.title}: {result} {view.summary}{f'. {since.line}' if since.line else ''}"


def _devices(view: View, out: Console) -> None:
    head = ("device", "platform", "outcome", "verdict", "planned", "conf.", "nonconf.", "unverif.", "unplanned")
    rows: list[tuple[str, ...]] = [head]
    for device in view.devices:
        counts = device.counts
        figures = (counts.planned, counts.conforming, counts.nonconforming, counts.unverified, counts.unplanned)
        rows.append(
            (device.name, device.platform, device.outcome, device.verdict, *(str(figure) for figure in figures))
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    for number, row in enumerate(rows):
        cells = [
            cell.ljust(width) if column < 4 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        style = "bold" if number == 0 else ""
        out.print(Text("  ".join(cells).rstrip(), style))


def _finding(view: FindingView, out: Console, marks: dict[str, str]) -> None:
    finding = view.finding
    mark = f"  {marks[finding.id]}" if finding.id in marks else ""
    out.print(Text(" ".join(part for part in (view.sign, view.number, view.effect) if part)))
    out.print(Text(f"    {finding.device}  {view.setting}  {view.kind}{mark}", "dim"))
    out.print(Text(f"    expected {view.expected} · observed {view.observed}"))
    if view.concerns or view.cause:
        told = [f"concerns {view.concerns}"] * bool(view.concerns) + [view.cause] * bool(view.cause)
        out.print(Text(f"    {' · '.join(told)}"))
    for place, text in view.telling:
        out.print(Text(f"    {place}: {text.strip()}", "dim"))
    if more := len(view.evidence) - len(view.telling):
        out.print(Text(f"    and {more} more line{'' if more == 1 else 's'}", "dim"))
    if view.approval:
        out.print(Text(f"    {view.approval}", "italic"))


def _rest(view: View, out: Console) -> None:
    if view.problems:
        out.print()
        out.print(Text("Not audited, or not completely", "bold magenta"))
        for name, outcome, reason in view.problems:
            out.print(Text(f"  {name}  {outcome}: {reason}"))
    if view.not_understood:
        out.print()
        out.print(Text("Lines of audited areas that were not understood", "bold magenta"))
        for name, place, text in view.not_understood:
            out.print(Text(f"  {name}  {place}: {text.strip()}"))
    if view.unverified:
        out.print()
        out.print(Text("Unverified", "bold"))
        for item in view.unverified:
            more = len(item.settings) - _MOST_SETTINGS
            shown = ", ".join(item.settings[:_MOST_SETTINGS]) + (f" and {more} more" if more > 0 else "")
            out.print(Text(f"  {item.device}  {shown}"))
            out.print(Text(f"    {item.why}", "dim"))
    _lists(view.lists, out)
    if view.entries:
        out.print()
        out.print(Text(NOTE))
        for entry in view.entries:
            out.print(Text(f"  {entry}"))


def _lists(lists: list[tuple[str, list[str]]], out: Console) -> None:
    for title, texts in lists:
        out.print()
        out.print(Text(title, "bold"))
        for text in texts:
            out.print(Text(f"  {text}"))
