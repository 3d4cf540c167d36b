"""One table over all formats: what each of them shows; and hostile text, which comes out harmless in all of them."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import pytest
from rich.console import Console

from auditor.core.days import SOURCES, WORDS
from auditor.core.report import CONSEQUENCES
from auditor.core.service import PathState
from auditor.reports import FORMATS
from auditor.reports.interface import Format
from auditor.reports.sanitize import sanitize
from auditor.reports.terminal import show
from auditor.reports.view import CONSEQUENCE_WORDS, KIND_WORDS, View, view_of
from tests.effort import share
from tests.reports.everything import EXPIRED, SIGNS, captured, every_outcome, planted, whole_view
from tests.reports.reading import Page, cells, markdown, of_csv, of_json, of_pdf, of_sarif, of_xlsx, of_xml, rows

KINDS = tuple(KIND_WORDS)
OUTCOMES = ("audited", "not captured", "not readable")
STATES: tuple[PathState, ...] = ("broken", "unverified", "reached")


def on_a_terminal(view: View) -> bytes:
    stream = io.StringIO()
    show(view, Console(file=stream, highlight=False, soft_wrap=True, width=80))
    return stream.getvalue().encode()


Words = tuple[str, ...]
"""Any of these will do."""


@cache
def parts() -> dict[str, list[Words]]:
    """Return what there is to be shown, and by which words it is known."""
    report = every_outcome()
    return {
        "verdict": [(report.verdict,)],
        "findings": [(text,) for f in report.findings for text in (sanitize(f.effect), sanitize(f.setting))],
        "kinds": [(kind, KIND_WORDS[kind]) for kind in KINDS],
        "consequences": [(consequence, CONSEQUENCE_WORDS[consequence]) for consequence in CONSEQUENCES],
        "places": [(f"{line.file}:{line.line}", line.file) for f in report.findings for line in f.evidence[:1]],
        "approved": [("ultrasound cart until the refit",)],
        "expired": [(f"the approval expired on {EXPIRED}", EXPIRED)],
        "trouble": [(device.reason or "",) for device in report.devices if device.outcome != "audited"],
        "outcomes": [(outcome, outcome.replace(" ", "-")) for outcome in OUTCOMES],
        "not understood": [
            (f"{line.file}:{line.line}", line.file) for device in report.devices for line in device.not_understood
        ],
        "unverified": [(sanitize(item.why),) for item in report.unverified],
        "unverified settings": [(str(item.setting),) for item in report.unverified],
        "service paths": [(state,) for state in STATES]
        + [(text,) for row in whole_view().serving.rows for text in row.broken],
        "limits": [(line.why,) for device in report.devices for line in device.limits],
        "overriding": [(line.why,) for device in report.devices for line in device.overriding],
        "accepted lines": [("approved until 2099-12-31 by site owner: the guests' printer", "the guests' printer")],
        "stale approvals": [("no finding matches this approval: remove it",)],
        "cautions": [("cut off the site",), ("local codes",)],
        "entries": [(entry,) for entry in whole_view().entries],
        "days": [
            (f"{day.on} ({WORDS[day.by]})", f"{day.on}{WORDS[day.by]}", f"{day.on}{day.by}")
            for day in (device.captured for device in report.devices)
            if day
        ],
        "ages": [("41 days old",)],
    }


@dataclass(frozen=True)
class Shows:
    """How a format is read, and the parts that it has no room for."""

    read: Callable[[bytes], str]
    without: frozenset[str] = frozenset()


FOR_PROGRAMS = frozenset({"cautions"})
SHOWS = {
    "terminal": Shows(bytes.decode, frozenset({"service paths", "unverified settings"})),
    "report.html": Shows(lambda data: Page(data.decode()).text),
    "report.md": Shows(lambda data: markdown(data).text, frozenset({"unverified settings"})),
    "report.pdf": Shows(of_pdf, frozenset({"entries"})),
    "report.json": Shows(lambda data: "".join(sanitize(sign) for sign in of_json(data)), FOR_PROGRAMS | {"entries"}),
    "findings.csv": Shows(of_csv, frozenset({"verdict", "service paths", "stale approvals", "cautions", "entries"})),
    "findings.xlsx": Shows(of_xlsx, frozenset({"entries"})),
    "report.sarif": Shows(of_sarif, FOR_PROGRAMS | {"service paths", "entries"}),
    "report.junit.xml": Shows(of_xml, FOR_PROGRAMS | {"entries"}),
}
"""Every format but the schema, which says nothing of a site."""
SHEETS = {
    "verdict": "Audit",
    "findings": "Findings",
    "kinds": "Findings",
    "consequences": "Findings",
    "places": "Findings",
    "approved": "Findings",
    "expired": "Findings",
    "trouble": "Audit",
    "outcomes": "Devices",
    "not understood": "Not understood",
    "unverified": "Unverified",
    "unverified settings": "Unverified",
    "service paths": "Service paths",
    "limits": "Audit",
    "overriding": "Audit",
    "accepted lines": "Unverified",
    "stale approvals": "Audit",
    "cautions": "Audit",
    "days": "Devices",
    "ages": "Devices",
}
RESULTS = {
    "findings": {"finding", "approved"},
    "approved": {"approved"},
    "expired": {"finding"},
    "trouble": {"not captured", "not readable", "incomplete"},
    "not understood": {"not understood"},
    "unverified": {"unverified"},
    "limits": {"limit"},
    "overriding": {"overriding"},
    "accepted lines": {"unverified"},
    "days": {"captured"},
    "ages": {"captured"},
}
"""What stands in the column ``result`` of findings.csv."""
RENDER: dict[str, Callable[[View], bytes]] = {
    "terminal": on_a_terminal,
    **{form.file: form.render for form in FORMATS if form.file != "report.schema.json"},
}


def flat(text: str) -> str:
    """Return a text without blanks and without the compatibility forms of letters: pages break lines anywhere."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text.replace("\u200b", "")))


def missing(part: str, shown: str) -> list[Words]:
    return [words for words in parts()[part] if not any(flat(word) in flat(shown) for word in words)]


def test_no_format_is_forgotten():
    assert set(SHOWS) == set(RENDER)
    assert all(shows.without <= set(parts()) for shows in SHOWS.values())


def test_the_report_has_everything():
    assert {device.outcome for device in every_outcome().devices} == set(OUTCOMES)
    assert {finding.consequence for finding in every_outcome().findings} == set(CONSEQUENCES)
    assert {finding.kind for finding in every_outcome().findings} == set(KINDS)
    assert {path.state for path in every_outcome().services.paths} == set(STATES)
    assert {finding.approved.expired for finding in every_outcome().findings if finding.approved} == {True, False}
    assert {device.captured.by for device in every_outcome().devices if device.captured} == set(SOURCES)
    assert all(parts().values())


@pytest.mark.parametrize("name", SHOWS)
def test_every_format_tells_everything(name: str):
    shown = SHOWS[name].read(RENDER[name](whole_view()))
    for part in set(parts()) - SHOWS[name].without:
        assert missing(part, shown) == [], part


def test_every_part_has_its_sheet():
    sheets: dict[str, str] = {}
    for title, cell in cells(RENDER["findings.xlsx"](whole_view())):
        sheets[title] = f"{sheets.get(title, '')} {cell.value}"
    assert set(SHEETS) == set(parts()) - SHOWS["findings.xlsx"].without
    for part, title in SHEETS.items():
        assert missing(part, sheets[title]) == [], part


def test_every_part_has_its_rows():
    found = rows(RENDER["findings.csv"](whole_view()))
    for part, results in RESULTS.items():
        shown = " ".join(" ".join(row.values()) for row in found if row["result"] in results)
        assert missing(part, shown) == [], part
        assert results <= {row["result"] for row in found}


FOR_PEOPLE = [name for name in RENDER if name != "report.json"]


HOSTILE = [f"{sign} {how}" for how in ("planted", "captured") for sign in SIGNS]
IN_PDF = share(HOSTILE, quick=9, ci=2)
"""Those that are set in a PDF, too, which takes longer than all other formats together."""


@cache
def hostile_view(sign: str) -> View:
    """Return the view of a report in which hostile text was planted, or comes from a capture."""
    name, _, how = sign.rpartition(" ")
    return view_of({"planted": planted, "captured": captured}[how](SIGNS[name]))


@pytest.mark.parametrize("sign", SIGNS)
def test_hostile_text_of_a_capture_comes_into_the_report(sign: str):
    report = hostile_view(f"{sign} captured").report
    told = {f.setting.partition(".")[0] for f in report.findings} | {
        "lines" for d in report.devices if d.not_understood
    }
    assert len(told & {"hostname", "ports", "vlans", "ssids", "lines"}) >= 2
    assert any(capture.file.startswith("ap1/") for device in report.devices for capture in device.captures)


@pytest.mark.parametrize("sign", share(HOSTILE, quick=3))
def test_hostile_text_controls_nothing(sign: str):
    # ECMA-48 escapes, Unicode's direction and zero-width characters, what is no character (Unicode, D14)
    view = hostile_view(sign)
    for name in FOR_PEOPLE if sign in IN_PDF else [name for name in FOR_PEOPLE if name != "report.pdf"]:
        shown = SHOWS[name].read(RENDER[name](view))
        allowed = {"\n", "\t", "\u200b"} if name == "report.md" else {"\n", "\t"}
        wrong = {c for c in shown if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")} - allowed
        assert not wrong, name
        assert not {c for c in shown if ord(c) & 0xFFFE == 0xFFFE}, name


@pytest.mark.parametrize("sign", HOSTILE)
def test_hostile_text_is_no_markup(sign: str):
    view = hostile_view(sign)
    page = Page(RENDER["report.html"](view).decode())
    ticket = markdown(RENDER["report.md"](view))
    plain = Page(RENDER["report.html"](whole_view()).decode())
    plain_ticket = markdown(RENDER["report.md"](whole_view()))
    assert page.open == []
    assert set(page.tags) <= set(plain.tags)
    assert set(ticket.tags) <= set(plain_ticket.tags) | {"blockquote"} - {"a", "img", "script"}
    assert {name for name, _ in page.attributes} <= {name for name, _ in plain.attributes}
    if sign == "markup planted":
        assert "<script>alert(1)</script>" in page.text
        assert "<script>" in ticket.text


def test_the_same_report_gives_the_same_bytes():
    for render in RENDER.values():
        assert render(whole_view()) == render(view_of(every_outcome()))


def test_a_format_is_a_file_and_what_makes_it():
    assert all(isinstance(form, Format) for form in FORMATS)
    assert len({form.file for form in FORMATS}) == len(FORMATS)
