"""report.pdf as poppler sees it: all is told, on A4, heads repeated, text of devices no markup, same bytes again."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from auditor.core.report import QuotedLine, Report, Unverified
from auditor.core.service import Fault, Services
from auditor.errors import ReportError
from auditor.reports import pdf
from auditor.reports.sanitize import sanitize
from auditor.reports.view import view_of
from auditor.resources import read_text
from tests.conftest import ROOT
from tests.reports import sites
from tests.reports.everything import every_outcome

pytest.importorskip("typst")
pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs Debian's poppler-utils")

MARKUP = [
    "#panic()", '#read("/etc/passwd")', "$x^2$", "*bold*", "_under_", "\\u{41}", "]", "[", "@ref", "<label>", "= h",
    "- item", "/ term: x", "// c", "/* c", "```raw```", "`raw`", "~", "--", "---", "...", '"quoted"', "'q'", "#", "$",
    "http://d.example/x", "#(", "}", "{", "&amp;", "]]>", "</text></svg>",
]  # fmt: skip
"""What Typst's own reference (syntax: markup, math and code mode) gives a meaning to, and what XML does."""


def poppler(tool: str, data: bytes, tmp_path: Path, *options: str) -> str:
    file = tmp_path / "report.pdf"
    file.write_bytes(data)
    end = ["-"] if tool == "pdftotext" else []
    run = subprocess.run([tool, *options, file, *end], capture_output=True, check=True)
    return run.stdout.decode(errors="replace")


def made(report: Report) -> bytes:
    return pdf.FORMAT.render(view_of(report))


def squeezed(text: str) -> str:
    """Return a text without blanks and without the compatibility forms of letters: a line may be broken anywhere."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


def expired(report: Report) -> Report:
    """Return a report with its approvals over."""
    findings = [
        finding.model_copy(update={"approved": finding.approved.model_copy(update={"expired": True})})
        if finding.approved
        else finding
        for finding in report.findings
    ]
    return report.model_copy(update={"findings": findings})


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    return squeezed(poppler("pdftotext", made(every_outcome()), tmp_path_factory.mktemp("pdf"), "-raw"))


def test_it_tells_everything(text: str):
    for finding in every_outcome().findings:
        for told in (finding.effect, finding.setting, finding.kind, finding.consequence, finding.device):
            assert squeezed(sanitize(told)) in text
        for line in finding.evidence:
            assert squeezed(f"{line.file}:{line.line}:") in text
        for command in finding.proposed.commands if finding.proposed else ():
            assert squeezed(command) in text
    for device in every_outcome().devices:
        assert squeezed(f"{device.name} {device.platform} {device.outcome} {device.verdict}") in text
        assert squeezed(sanitize(device.reason or "")) in text
        for line in device.not_understood:
            assert squeezed(f"{line.file}:{line.line}") in text
    for item in every_outcome().unverified:
        assert squeezed(str(item.setting)) in text
        assert squeezed(sanitize(item.why)) in text


def test_it_is_a_record_that_can_be_signed(text: str):
    report = every_outcome()
    counts = report.counts
    for told in (
        "Acceptance record", report.site, report.reference, "Occasion Acceptance", f"Day {report.audited_on}",
        f"{report.plan.file}, SHA-256 {report.plan.sha256}", "Handed over by", "Accepted by",
        f"{counts.planned} planned settings: {counts.conforming} conforming, {counts.nonconforming} nonconforming",
        "Before you change anything", "cut off the site", "local codes", "Approved deviations", "2099-12-31",
    ):  # fmt: skip
        assert squeezed(told) in text, told
    for device in every_outcome().devices:
        for capture in device.captures:
            assert squeezed(f"{device.name} {capture.file} {capture.lines} {capture.sha256}") in text
    signed = text.rpartition("Signedfor")[2]
    assert [signed.count(line) for line in ("Name", "Role", "Date", "Signature")] == [2, 2, 2, 2]


def test_an_approval_that_is_over_says_so_and_counts(tmp_path: Path):
    shown = squeezed(poppler("pdftotext", made(expired(every_outcome())), tmp_path, "-raw"))
    assert squeezed("the approval expired on 2099-12-31 and no longer counts") in shown
    assert squeezed("Approved deviations") not in shown


@pytest.mark.parametrize(
    ("occasion", "title", "signer"),
    [
        ("acceptance", "Acceptance record", "Accepted by"),
        ("routine", "Record of a routine audit", "Seen by"),
        ("after-change", "Record of an audit after a change", "Seen by"),
    ],
)
def test_each_occasion_has_its_title(occasion: str, title: str, signer: str, tmp_path: Path):
    shown = poppler("pdftotext", made(every_outcome().model_copy(update={"occasion": occasion})), tmp_path, "-raw")
    assert shown.startswith(title)
    assert signer in shown


def test_pages_are_a4_and_numbered_and_heads_repeated(tmp_path: Path):
    data = made(sites.large(30))
    told = poppler("pdfinfo", data, tmp_path)
    assert re.search(r"Page size: .*\(A4\)", told)
    assert "JavaScript:      no" in told
    assert "Hillside School (MLS-01): nonconforming" in told
    pages = poppler("pdftotext", data, tmp_path, "-layout").split("\f")[:-1]
    for number, page in enumerate(pages, 1):
        assert re.search(rf"Hillside School \(MLS-01\) · 2026-01-31 +page {number} of {len(pages)}\n", page)
    heads = [page for page in pages if re.search(r"device +platform +outcome +verdict", page)]
    assert len(heads) > 1
    assert heads[1].lstrip().startswith("device")


def test_the_style_of_its_picture_is_whole_rules_for_every_medium():
    picture = json.loads(pdf._text(view_of(sites.small())))["picture"]
    (style,) = re.findall(r"<style>(.*?)</style>", picture, re.DOTALL)
    rules = re.findall(r"[^{}]+\{[^{}]*\}", style)
    assert "".join(rules) == style
    assert not re.search(r"@|var\(|\.picture|\.paths", style)
    (lettering,) = [rule for rule in rules if rule.strip().startswith("text {")]
    assert ("font: 12px" in lettering, "fill: #1b1b1b" in lettering) == (True, True)


def test_the_same_report_gives_the_same_bytes_in_another_process(tmp_path: Path):
    file = tmp_path / "report.json"
    file.write_text(every_outcome().model_dump_json())
    code = (
        "import sys, pathlib; from auditor.core.report import Report; from auditor.reports import pdf;"
        "from auditor.reports.view import view_of;"
        "report = Report.model_validate_json(pathlib.Path(sys.argv[1]).read_text());"
        "sys.stdout.buffer.write(pdf.FORMAT.render(view_of(report)))"
    )
    run = subprocess.run([sys.executable, "-c", code, file], capture_output=True, check=True, cwd=ROOT)
    assert run.stdout == made(every_outcome())


def hostile(text: str) -> Report:
    """Return a report with a text in every place where somebody else has a say."""
    fault = [Fault(device="sw1", place=text, why=text)]
    services = Services(paths=[sites.path("wifi", "sw1", (text[:200], 10), text, state="broken", faults=fault)])
    line = QuotedLine(file=f"{text[:100]}.cfg", line=1, text=text)
    finding = next(finding for finding in every_outcome().findings if finding.approved)
    assert finding.approved
    approved = finding.approved.model_copy(update={"reason": text, "approved_by": text})
    values = {"expected": text, "observed": [text]}
    changed = {"effect": text, "setting": f"ports.{text}.mode", "evidence": [line], "approved": approved, **values}
    device = sites.device("sw1", "access").model_copy(
        update={"reason": text, "notes": [text], "not_understood": [line]}
    )
    return sites.report([device], services, text).model_copy(
        update={
            "findings": [finding.model_copy(update=changed)],
            "unverified": [Unverified(device="sw1", setting=text, why=text, cause="not-saved")],
        }
    )


def test_text_is_no_markup(tmp_path: Path):
    text = " ".join(MARKUP)
    shown = squeezed(poppler("pdftotext", made(hostile(text)), tmp_path, "-raw"))
    assert shown.count(squeezed(text)) >= 10


@pytest.mark.slow
@pytest.mark.parametrize(
    "text",
    [
        "x" * 10_000,
        "words " * 2_000,
        "a\x00b\x1b[31mc\x7f",
        "\u202eright to left\u2066\u200b\ufeff\ufffe\U000e0001",
        "\ud800",
        "\u6f22\u5b57\u306e\u7121\u7dda \u0639\u0631\u0628\u064a \u05e2\u05d1 \u0e44\u0e17\u0e22 \U0001f600",
        "Łódź Ζώνη Сеть",
        "e\u0301" * 3_000,
        "",
        " ",
    ],
    ids=[
        "long word",
        "long text",
        "controls",
        "directions",
        "surrogate",
        "scripts",
        "european",
        "marks",
        "empty",
        "blank",
    ],
)
def test_any_text_makes_a_page(text: str, tmp_path: Path):
    data = made(hostile(text))
    shown = poppler("pdftotext", data, tmp_path, "-raw")
    assert "Signature" in shown
    assert not {"\x00", "\x1b", "\u202e", "\u2066", "\ufeff"} & set(shown)
    boxes = poppler("pdftotext", data, tmp_path, "-bbox")
    rights = [float(edge) for edge in re.findall(r'xMax="([\d.]+)"', boxes)]
    bottoms = [float(edge) for edge in re.findall(r'yMax="([\d.]+)"', boxes)]
    assert max(rights) < 595.3  # A4 is 210 mm by 297 mm, ISO 216
    assert max(bottoms) < 841.9


def test_what_the_fonts_of_the_machine_have_a_say_in_is_known():
    assert pdf.made_with().startswith("typst ")
    assert not pdf.of_machine(view_of(every_outcome()))
    assert not pdf.of_machine(view_of(hostile("Łódź Ζώνη Сеть")))
    assert pdf.of_machine(view_of(hostile("\u6f22\u5b57")))


def test_without_the_library_there_is_no_such_format():
    code = (
        "import sys; sys.modules['typst'] = None; from auditor.reports import FORMATS; print([f.file for f in FORMATS])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert "report.html" in run.stdout
    assert "report.pdf" not in run.stdout


def test_a_template_that_fails_is_an_error_of_ours(monkeypatch: pytest.MonkeyPatch):
    broken = {"report.typ": "#panic()"}
    monkeypatch.setattr("auditor.reports.pdf.read_text", lambda *at: broken.get(at[-1]) or read_text(*at))
    with pytest.raises(ReportError, match=r"report\.pdf cannot be made: panicked"):
        made(every_outcome())
