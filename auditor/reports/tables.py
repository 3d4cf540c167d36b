"""The report as tables, for the formats that are made of rows: columns with their widths, and cells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from auditor.reports.dating import capture_days
from auditor.reports.sanitize import sanitize
from auditor.reports.service_view import LAYER_NOTE
from auditor.reports.view import FindingView, View

TableCell = str | int | list[str]
"""Text, a figure, or several texts that belong in one cell."""
Columns = tuple[tuple[str, int], ...]
"""The heads of columns, and their widths in characters."""

_FINDINGS: Columns = (
    ("result", 14), ("number", 8), ("consequence", 13), ("effect", 60), ("device", 14), ("setting", 42), ("kind", 13),
    ("expected", 24), ("observed", 24), ("concerns", 28), ("approval", 36), ("place", 36), ("lines", 48),
    ("correction", 40),
)  # fmt: skip
_DEVICES: Columns = (
    ("device", 14), ("platform", 20), ("role", 10), ("outcome", 14), ("verdict", 15), ("planned", 10),
    ("conforming", 12), ("nonconforming", 15), ("unverified", 12), ("unplanned", 12), ("approved", 11), ("reason", 60),
    ("captured", 40), ("captures", 40),
)  # fmt: skip
_PATHS: Columns = (
    ("service", 28), ("where", 40), ("subnet", 22), ("path", 13), ("gateway", 28), ("DHCP", 18), ("separate", 28),
    ("broken or unverified at", 60),
)  # fmt: skip
_NOT_UNDERSTOOD = "a line of an audited area that was not understood"
_PROPOSED = "a proposal, with its cautions, is in report.html"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under the heads of columns."""

    title: str
    columns: Columns
    rows: list[list[TableCell]]


def sheets(view: View) -> list[Table]:
    """Return a table for each part of the report, the verdict first: an empty list of findings must not mislead."""
    return [
        Table("Audit", (("about", 28), ("", 110)), list(_audit(view))),
        Table("Findings", _FINDINGS, [_finding(finding) for group in view.groups for finding in group.findings]),
        Table("Service paths", _PATHS, list(_paths(view))),
        Table("Devices", _DEVICES, list(_devices(view))),
        Table(
            "Unverified",
            (("device", 14), ("setting", 48), ("cause", 15), ("why", 80)),
            [[item.device, setting, item.cause, item.why] for item in view.unverified for setting in item.settings],
        ),
        Table(
            "Not understood",
            (("device", 14), ("place", 40), ("line", 100)),
            [[device, place, text.strip()] for device, place, text in view.not_understood],
        ),
    ]


def one_table(view: View) -> Table:
    """Return all that is not as planned, or not known, in one table: the column ``result`` says which."""
    rows = [_finding(finding) for group in view.groups for finding in group.findings]
    days = capture_days(view.report).of
    rows += [_row(result="captured", effect=day, device=name) for name, day in days.items() if day]
    rows += [
        _row(result="incomplete" if outcome == "audited" else outcome, effect=reason, device=name)
        for name, outcome, reason in view.problems
    ]
    rows += [
        _row(result="not understood", effect=_NOT_UNDERSTOOD, device=name, place=place, lines=text.strip())
        for name, place, text in view.not_understood
    ]
    rows += [
        _row(result="unverified", effect=item.why, device=item.device, setting=setting, kind=item.cause)
        for item in view.unverified
        for setting in item.settings
    ]
    rows += [_row(result="overriding", effect=text, device=name) for name, text in view.overriding]
    rows += [_row(result="limit", effect=text, device=name) for name, text in view.limits]
    about: list[TableCell] = [view.title, str(view.report.audited_on)]
    return Table("Findings", (*_FINDINGS, ("site", 0), ("audited on", 0)), [[*row, *about] for row in rows])


def _row(**cells: TableCell) -> list[TableCell]:
    return [cells.get(head.replace(" ", "_"), "") for head, _ in _FINDINGS]


def _finding(view: FindingView) -> list[TableCell]:
    finding = view.finding
    more = len(view.evidence) - len(view.telling)
    return _row(
        result="finding" if finding.counts else "approved",
        number=finding.number or "",
        consequence=finding.consequence,
        effect=view.effect,
        device=finding.device,
        setting=view.setting,
        kind=finding.kind,
        expected=view.expected,
        observed=view.observed,
        concerns=view.concerns,
        approval=view.approval,
        place=[place for place, _ in view.telling] + [f"and {more} more"] * bool(more),
        lines=[text.strip() for _, text in view.telling],
        correction=_PROPOSED if view.correction else view.by_hand,
    )


def _devices(view: View) -> Iterator[list[TableCell]]:
    days = capture_days(view.report).of
    for device in view.devices:
        counts = device.counts
        about: list[TableCell] = [device.name, device.platform, device.role, device.outcome, device.verdict]
        figures: list[TableCell] = [
            counts.planned, counts.conforming, counts.nonconforming, counts.unverified, counts.unplanned,
            counts.approved,
        ]  # fmt: skip
        files: TableCell = [
            f"{sanitize(capture.file)}, {capture.lines} line{'' if capture.lines == 1 else 's'}"
            for capture in device.captures
        ]
        yield [*about, *figures, sanitize(device.reason or ""), days[device.name], files]


def _paths(view: View) -> Iterator[list[TableCell]]:
    for row in view.serving.rows:
        yield [row.service, row.where, row.subnet, *(cell.words for _, cell in row.cells), row.broken]


def _audit(view: View) -> Iterator[list[TableCell]]:
    report = view.report
    yield ["site", view.title]
    yield ["verdict", view.verdict]
    yield ["", view.headline]
    yield ["settings", view.summary]
    yield ["occasion", report.occasion]
    yield ["audited on", str(report.audited_on)]
    yield ["plan", sanitize(report.plan.file)]
    yield ["plan's SHA-256", report.plan.sha256]
    yield ["made by", sanitize(report.tool)]
    for name, outcome, reason in view.problems:
        yield [outcome, f"{name}: {reason}"]
    if view.serving.rows:
        yield ["service paths", view.serving.summary]
        yield ["", LAYER_NOTE]
    for title, texts in (*view.serving.lists, *view.lists):
        for text in texts:
            yield [title, text]
