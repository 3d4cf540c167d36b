"""report.md, short enough to be pasted into a ticket."""

from __future__ import annotations

import re

from auditor.reports.changes import since_words
from auditor.reports.dating import capture_days
from auditor.reports.deviation_entry import NOTE
from auditor.reports.interface import Format
from auditor.reports.sanitize import sanitize
from auditor.reports.service_view import LAYER_NOTE, SIGNS, Serving
from auditor.reports.view import CORRECTION, FindingView, View

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+!|~@&$^-])")
_MOST_SETTINGS = 8


def _render(view: View) -> bytes:
    report = view.report
    since = since_words(report.since)
    lines = [
        f"## {_text(view.title)}: {view.verdict}",
        "",
        f"{_text(view.headline)} {view.summary}.",
        "",
        *([f"{since.line}.", ""] if since.line else []),
        f"{report.occasion.capitalize()} audit of {report.audited_on}, plan `{_code(sanitize(report.plan.file))}`.",
        "",
        "| device | platform | outcome | verdict | nonconforming | unverified | unplanned |",
        "|---|---|---|---|--:|--:|--:|",
    ]
    for device in view.devices:
        counts = device.counts
        lines.append(
            f"| {_text(device.name)} | {_text(device.platform)} | {device.outcome} | {device.verdict} "
            f"| {counts.nonconforming} | {counts.unverified} | {counts.unplanned} |"
        )
    lines += ["", *(f"- {_text(words)}" for words in capture_days(report).lines)]
    lines += _serving(view.serving)
    for group in view.groups:
        lines += ["", f"### {group.title}", ""]
        lines += [line for finding in group.findings for line in _finding(finding, since.marks)]
    for title, texts in since.lists:
        lines += ["", f"### {title}", "", *(f"- {_text(text)}" for text in texts)]
    if view.problems:
        lines += ["", "### Not audited, or not completely", ""]
        lines += [f"- **{_text(name)}** {outcome}: {_text(reason)}" for name, outcome, reason in view.problems]
    if view.not_understood:
        lines += ["", "### Lines not understood", ""]
        lines += [f"- {_text(name)} {_text(place)}: `{_code(text)}`" for name, place, text in view.not_understood]
    if view.unverified:
        lines += ["", "### Unverified", ""]
        for item in view.unverified:
            shown = ", ".join(f"`{_code(setting)}`" for setting in item.settings[:_MOST_SETTINGS])
            more = len(item.settings) - _MOST_SETTINGS
            lines.append(
                f"- **{_text(item.device)}** {shown}{f' and {more} more' if more > 0 else ''}: {_text(item.why)}"
            )
    for title, texts in view.lists:
        lines += ["", f"### {title}", "", *(f"- {_text(text)}" for text in texts)]
    if view.entries:
        lines += ["", "### Approving", "", _text(NOTE), *_block(view.entries, "yaml", indent="")]
    return ("\n".join(lines) + "\n").encode()


def _serving(serving: Serving) -> list[str]:
    """Return what is broken, unverified or not apart as a table, and all that is well in one line."""
    if not serving.rows:
        return []
    lines = ["", "### Service paths", "", f"{_text(serving.summary[:1].upper() + serving.summary[1:])}."]
    if told := [
        row for row in serving.rows if row.state != "reached" or row.separated.state in ("shared", "unverified")
    ]:
        lines += ["", "| service | subnet | path | gateway | DHCP | apart | where |", "|---|---|---|---|---|---|---|"]
        for row in told:
            cells = [f"**{_text(row.service)}** {_text(row.where)}", _text(row.subnet)]
            cells += [f"{cell.sign} {_text(cell.words)}" for _, cell in row.cells]
            lines.append(f"| {' | '.join([*cells, _text('; '.join(row.broken))])} |")
    if well := [f"{row.service} in {row.subnet}" for row in serving.rows if row not in told]:
        lines += ["", f"{SIGNS['reached']} reached: {_text('; '.join(dict.fromkeys(well)))}"]
    lines += ["", LAYER_NOTE]
    for title, texts in serving.lists:
        lines += ["", f"{title}:", "", *(f"- {_text(text)}" for text in texts)]
    return lines


def _finding(view: FindingView, marks: dict[str, str]) -> list[str]:
    finding = view.finding
    mark = f", {marks[finding.id]}" if finding.id in marks else ""
    lines = [
        f"- {view.sign} **{_text(view.effect)}**",
        f"  `{_code(finding.device)}` `{_code(view.setting)}` {view.kind}{mark}",
        f"  expected {_text(view.expected)}, observed {_text(view.observed)}",
    ]
    if view.concerns:
        lines.append(f"  concerns {_text(view.concerns)}")
    if view.cause:
        lines.append(f"  {_text(view.cause)}")
    lines += [f"  {_text(place)}: `{_code(text.strip())}`" for place, text in view.telling]
    if view.approval:
        lines.append(f"  {_text(view.approval)}")
    return lines + _correction(view)


def _correction(view: FindingView) -> list[str]:
    """Return a proposal for what counts: its cautions and its commands; what takes them back is in the other files."""
    if not view.finding.counts:
        return []
    if view.correction is None:
        return [f"  {CORRECTION['by hand']}: {_text(view.by_hand)}"] if view.by_hand else []
    lines = ["", f"  {CORRECTION['title']}", ""]
    lines += [f"  - {_text(caution)}" for caution in view.correction.cautions]
    lines += _block(view.correction.commands)
    if view.correction.settles:
        settles = ", ".join(f"`{_code(setting)}`" for setting in view.correction.settles)
        lines += [f"  {CORRECTION['settles']} {settles}", ""]
    return lines


def _block(commands: list[str], language: str = "text", indent: str = "  ") -> list[str]:
    """Return lines as a block of code whose fence is longer than any run of backticks in it."""
    longest = max((len(run) for line in commands for run in re.findall("`+", line)), default=0)
    fence = "`" * max(3, longest + 1)
    return ["", *(f"{indent}{line}" for line in (f"{fence}{language}", *commands, fence)), ""]


def _text(text: str) -> str:
    """Escape everything that Markdown or a ticket system could take for markup or a mention."""
    return _SPECIAL.sub(r"\\\1", text).replace("://", ":\u200b//")


def _code(text: str) -> str:
    return text.replace("`", "'").replace("|", "¦")


FORMAT = Format("report.md", _render)
