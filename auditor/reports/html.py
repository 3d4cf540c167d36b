"""report.html: one self-contained page without script, for screens of any width and for paper."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from jinja2 import Environment, FunctionLoader, StrictUndefined

from auditor.reports.changes import since_words
from auditor.reports.dating import capture_days
from auditor.reports.deviation_entry import LABEL, NOTE
from auditor.reports.interface import Format
from auditor.reports.picture import pictures
from auditor.reports.sanitize import sanitize
from auditor.reports.service_view import LAYER_NOTE
from auditor.reports.view import View
from auditor.resources import read_text


def _render(view: View) -> bytes:
    style = "".join(read_text("reports", name) for name in ("report.css", "picture.css"))
    page = (
        environment()
        .get_template("report.html.j2")
        .render(
            view=view,
            report=view.report,
            pictures=pictures(view.report),
            since=since_words(view.report.since),
            days=capture_days(view.report).lines,
            style=style,
            anchors=_anchors(view),
        )
    )
    return f"{page}\n".encode()


@dataclass(slots=True)
class _Anchors:
    """Where links within the page lead.

    Attributes:
        rows: the number of each device's row, by the device's name.
        findings, unverified: the first one of each device, the same way.
        following: the next finding of the same device, by a finding's id.
    """

    rows: dict[str, int] = field(default_factory=dict)
    findings: dict[str, str] = field(default_factory=dict)
    unverified: dict[str, str] = field(default_factory=dict)
    following: dict[str, str] = field(default_factory=dict)


def _anchors(view: View) -> _Anchors:
    anchors = _Anchors({device.name: number for number, device in enumerate(view.devices, 1)})
    last: dict[str, str] = {}
    for group in view.groups:
        for finding in (item.finding for item in group.findings):
            anchors.findings.setdefault(finding.device, finding.id)
            if finding.device in last:
                anchors.following[last[finding.device]] = finding.id
            last[finding.device] = finding.id
    for number, item in enumerate(view.unverified, 1):
        anchors.unverified.setdefault(item.device, str(number))
    return anchors


@cache
def environment() -> Environment:
    """Return where the templates of pages and pictures are found; what is put into them is escaped."""
    found = Environment(
        loader=FunctionLoader(lambda name: read_text("reports", name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters["harmless"] = sanitize
    found.globals |= {"layer_note": LAYER_NOTE, "approve_label": LABEL, "approve_note": NOTE}
    return found


FORMAT = Format("report.html", _render)
