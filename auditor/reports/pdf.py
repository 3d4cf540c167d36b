"""report.pdf: the record to be signed, and the report, on A4. Written where the extra ``auditor[pdf]`` is installed.

Text goes to the template as data and is never part of its source, so nothing in it can be markup.
"""

from __future__ import annotations

import json
import re
import unicodedata
from importlib.metadata import version
from importlib.util import find_spec
from typing import Any

from auditor.core.report import DeviceReport, Occasion
from auditor.errors import ReportError
from auditor.reports.dating import capture_days
from auditor.reports.html import environment
from auditor.reports.interface import Format
from auditor.reports.picture import picture_for_paper
from auditor.reports.sanitize import sanitize
from auditor.reports.service_view import LAYER_NOTE, Serving
from auditor.reports.view import CORRECTION, FindingView, UnverifiedView, View
from auditor.resources import read_text

_RECORDS: dict[Occasion, tuple[str, str, str]] = {
    "acceptance": ("Acceptance record", "Handed over by", "Accepted by"),
    "routine": ("Record of a routine audit", "Audited by", "Seen by"),
    "after-change": ("Record of an audit after a change", "Audited by", "Seen by"),
}
"""What the record is called, and who signs it."""
_EMBEDDED = ("LATIN", "GREEK", "CYRILLIC")
"""The scripts that the fonts within the library have; what is not in them is taken from the fonts of the machine."""
_COLOUR = re.compile(r"--([a-z]+): (#[0-9a-f]{6})")
_RULES = re.compile(r"^\.picture [^{].*?\}$", re.DOTALL | re.MULTILINE)
"""Rules for what is inside of pictures, in every medium: they begin a line, those for one medium are indented."""


def installed() -> bool:
    """Return whether the library is there that makes the file."""
    return find_spec("typst") is not None


def made_with() -> str:
    """Return the library that has a say in the bytes, with its version."""
    return f"typst {version('typst')}"


def of_machine(view: View) -> bool:
    """Return whether the machine's fonts have a say in the bytes."""
    return not _is_plain(_text(view))


def _render(view: View) -> bytes:
    import typst  # noqa: PLC0415 - large

    text = _text(view)
    try:
        made = typst.compile(
            read_text("reports", "report.typ").encode(),
            sys_inputs={"report": text},
            ignore_system_fonts=_is_plain(text),
        )
    except typst.TypstError as error:
        raise ReportError(f"report.pdf cannot be made: {sanitize(error.message)}") from error
    assert isinstance(made, bytes)
    return made


def _is_plain(text: str) -> bool:
    """Return whether the embedded fonts have every letter of a text."""
    return all(unicodedata.name(letter, "").startswith(_EMBEDDED) for letter in set(text) if letter.isalpha())


def _text(view: View) -> str:
    """Return all that the template shows, as JSON."""
    report = view.report
    title, *signers = _RECORDS[report.occasion]
    told = {
        "title": view.title,
        "site": sanitize(report.site),
        "reference": sanitize(report.reference),
        "occasion": report.occasion,
        "day": report.audited_on.isoformat(),
        "plan": {"file": sanitize(report.plan.file), "sha256": report.plan.sha256},
        "tool": report.tool,
        "record": title,
        "signers": signers,
        "verdict": report.verdict,
        "words_of_verdict": view.verdict,
        "headline": view.headline,
        "summary": view.summary,
        "counts": report.counts.model_dump(),
        "captured": capture_days(report).lines,
        "devices": [_device(device) for device in view.devices],
        "groups": [
            {"consequence": group.consequence, "title": group.title, "findings": [_finding(f) for f in group.findings]}
            for group in view.groups
        ],
        "unverified": [_unverified(item) for item in view.unverified],
        "not_understood": [[sanitize(name), place, text] for name, place, text in view.not_understood],
        "problems": [[sanitize(name), outcome, reason] for name, outcome, reason in view.problems],
        "lists": view.lists,
        "serving": _serving(view.serving),
        "words": CORRECTION,
        **_picture(view),
    }
    return json.dumps(told, ensure_ascii=False)


def _device(device: DeviceReport) -> dict[str, Any]:
    return {
        "name": sanitize(device.name),
        "platform": device.platform,
        "outcome": device.outcome,
        "verdict": device.verdict,
        "counts": device.counts.model_dump(),
        "captures": [{"file": sanitize(c.file), "lines": c.lines, "sha256": c.sha256} for c in device.captures],
    }


def _finding(view: FindingView) -> dict[str, Any]:
    finding, correction = view.finding, view.correction
    return {
        "sign": view.sign,
        "number": view.number,
        "consequence": finding.consequence,
        "counts": finding.counts,
        "effect": view.effect,
        "device": sanitize(finding.device),
        "setting": view.setting,
        "told": [
            [head, text]
            for head, text in (
                ("kind", f"{finding.kind}: {view.kind}"),
                ("expected", view.expected),
                ("observed", view.observed),
                ("concerns", view.concerns),
                ("cause", view.cause),
                ("approval", view.approval),
            )
            if text
        ],
        "approval": view.approval,
        "until": finding.approved.until.isoformat() if finding.approved else "",
        "evidence": [list(line) for line in view.evidence],
        "correction": {
            "cautions": correction.cautions,
            "commands": correction.commands,
            "undo": correction.undo,
            "settles": correction.settles,
        }
        if correction
        else None,
        "by_hand": view.by_hand,
    }


def _unverified(item: UnverifiedView) -> dict[str, Any]:
    return {"device": sanitize(item.device), "why": item.why, "settings": item.settings}


def _serving(serving: Serving) -> dict[str, Any]:
    rows = [
        {
            "service": row.service,
            "where": row.where,
            "subnet": row.subnet,
            "state": row.state,
            "cells": [[cell.state, cell.sign, cell.words] for _, cell in row.cells],
            "broken": row.broken,
        }
        for row in serving.rows
    ]
    return {"summary": serving.summary, "rows": rows, "lists": serving.lists, "note": LAYER_NOTE}


def _picture(view: View) -> dict[str, Any]:
    """Return the site's picture as SVG that needs no page around it: colours in the place of the page's names."""
    picture = picture_for_paper(view.report)
    colours = dict(reversed(_COLOUR.findall(read_text("reports", "report.css"))))
    style = re.sub(r"var\(--(\w+)\)", lambda name: colours[name[1]], read_text("reports", "picture.css"))
    rules = "\n".join(_RULES.findall(style)).replace(".picture ", "")
    size = (picture.width, picture.height)
    svg = environment().get_template("picture.svg.j2").render(picture=picture)
    return {
        "picture": svg.replace("<title", f"<style>{rules}</style>\n<title", 1),
        "linked": picture.linked,
        "size": size,
    }


FORMAT = Format("report.pdf", _render, installed, made_with, of_machine, libraries=("typst",))
