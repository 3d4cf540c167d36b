"""Report formats: the same findings in each, the contract kept, and text of devices harmless in all of them."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from markdown_it import MarkdownIt
from rich.console import Console

from auditor.core.report import CONSEQUENCES, FORMAT, Report
from auditor.errors import ReportError
from auditor.plan.loader import parse
from auditor.reports import FORMATS
from auditor.reports.sanitize import sanitize
from auditor.reports.schema import schema
from auditor.reports.terminal import one_line, show
from auditor.reports.view import view_of
from auditor.reports.writing import write_atomically
from tests.compare.site import MIXED, conforming, drifted, edited, plan_text
from tests.conftest import ROOT
from tests.reports.everything import CORE, QUARRY, every_outcome, whole_view
from tests.reports.reading import Page, markdown

FIXED_KEYS = [
    "format", "site", "reference", "occasion", "verdict", "complete", "plan", "counts", "devices", "findings",
    "unverified",
]  # fmt: skip


FOR_READERS = ("report.json", "report.schema.json", "report.md", "report.html")


@cache
def rendered(name: str) -> str:
    """Return a format of the report."""
    return next(form for form in FORMATS if form.file == name).render(whole_view()).decode()


def on_a_terminal(report: Report, *, terminal: bool = False) -> str:
    stream = io.StringIO()
    console = Console(file=stream, force_terminal=terminal, highlight=False, soft_wrap=True, width=80)
    show(view_of(report), console)
    return stream.getvalue()


def test_the_report_has_everything():
    assert {device.outcome for device in every_outcome().devices} == {"audited", "not captured", "not readable"}
    assert {finding.consequence for finding in every_outcome().findings} == set(CONSEQUENCES)
    assert any(finding.approved for finding in every_outcome().findings)
    assert any(device.not_understood for device in every_outcome().devices)
    assert every_outcome().unverified
    assert every_outcome().verdict == "incomplete"


def test_the_contract_of_the_json():
    told = json.loads(rendered("report.json"))
    assert list(told)[: len(FIXED_KEYS)] == FIXED_KEYS
    assert told["format"] == "auditor-report/2"
    finding = {f["setting"]: f for f in told["findings"]}["gateways.40.addresses"]
    assert (finding["expected"], finding["observed"]) == (["10.40.40.1/24"], ["10.40.40.9/24"])
    assert finding["evidence"][0].keys() == {"file", "line", "text"}
    assert set(told["counts"]) == {"planned", "conforming", "nonconforming", "unverified", "unplanned", "approved"}
    fixed = {"name", "platform", "outcome", "verdict", "reason", "captures", "counts", "not_understood"}
    assert all(fixed <= set(device) for device in told["devices"])


def test_the_schema_that_ships_is_that_of_the_report(update: bool):
    made = Report.model_json_schema(mode="serialization")
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = FORMAT
    if update:
        shipped = ROOT / "templates" / "reports" / "report.schema.json"
        shipped.write_text(json.dumps(made, indent=2) + "\n", encoding="utf-8")
    assert json.loads(schema()) == made


def test_the_json_keeps_to_the_schema_that_ships_beside_it():
    import jsonschema  # noqa: PLC0415 - heavy

    assert rendered("report.schema.json") == schema()
    described = json.loads(schema())
    jsonschema.Draft202012Validator.check_schema(described)
    jsonschema.Draft202012Validator(described).validate(json.loads(rendered("report.json")))


@pytest.mark.parametrize("wrong", [{"verdict": "fine"}, {"findings": [{}]}, {"colour": "red"}, {"format": "x"}])
def test_the_schema_refuses_what_is_no_report(wrong: dict[str, object]):
    import jsonschema  # noqa: PLC0415 - heavy

    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**json.loads(rendered("report.json")), **wrong}, json.loads(schema()))


def test_the_json_is_read_back_as_the_same_report():
    assert Report.model_validate_json(rendered("report.json")) == every_outcome()


@cache
def page() -> Page:
    return Page(rendered("report.html"))


def test_the_page_is_whole_and_stands_alone():
    assert page().open == []
    assert not {"script", "iframe", "img", "link", "form", "object"} & set(page().tags)
    names = {name for name, _ in page().attributes}
    assert not {name for name in names if name.startswith("on")} | ({"src", "style"} & names)
    assert "@import" not in rendered("report.html")
    assert "url(" not in rendered("report.html")
    assert ("lang", "en") in page().attributes


def test_links_lead_to_places_in_the_page():
    marks = [value for name, value in page().attributes if name == "id"]
    links = {str(value) for name, value in page().attributes if name == "href"}
    assert len(marks) == len(set(marks))
    assert links <= {f"#{mark}" for mark in marks}
    assert {f"#f{finding.id}" for finding in every_outcome().findings if finding.device == "core1"} <= links
    assert "#u1" in links


FOR_PEOPLE: dict[str, Callable[[], str]] = {
    "html": lambda: rendered("report.html"),
    "markdown": lambda: rendered("report.md"),
    "terminal": lambda: on_a_terminal(every_outcome()),
}


@pytest.mark.parametrize("shown", FOR_PEOPLE.values(), ids=list(FOR_PEOPLE))
def test_text_of_devices_controls_nothing(shown: Callable[[], str]):
    # ECMA-48 escapes, and Unicode's direction and zero-width characters, which reorder or hide what is read
    assert "\x1b" not in shown()
    assert not set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff") & set(shown())


def test_text_of_devices_is_no_markup():
    assert "<script>alert(1)</script>" in page().text
    assert "script" not in page().tags
    assert not {"script", "a", "img"} & set(markdown(rendered("report.md").encode()).tags)
    assert "<script>" in markdown(rendered("report.md").encode()).text
    assert "http://" not in re.sub(r"`[^`]*`", "", rendered("report.md"))


def test_a_terminal_has_colours_and_a_file_has_none():
    assert "\x1b[" in on_a_terminal(every_outcome(), terminal=True)
    assert "\x1b[" not in on_a_terminal(every_outcome())
    assert re.sub(r"\x1b\[[\d;]*m", "", on_a_terminal(every_outcome(), terminal=True)) == on_a_terminal(every_outcome())


def test_one_line_is_one_line():
    hostile = every_outcome().model_copy(update={"site": "Mill\nLane\x1b[2J"})
    assert "\n" not in one_line(view_of(hostile))
    assert "\x1b" not in one_line(view_of(hostile))


def test_a_long_text_is_cut_and_says_so():
    assert sanitize("x" * 2500).endswith("(500 more characters)")


def test_a_site_that_conforms_asks_for_no_caution():
    view = view_of(conforming(QUARRY).report())
    assert view.cautions == []
    assert view.groups == []


def test_what_is_open_and_what_can_cut_off_is_told_with_the_usual_cautions():
    texts = " ".join(whole_view().cautions)
    assert "cut off the site" in texts
    assert "local codes" in texts
    assert "local law" in texts


def test_files_are_written_whole(tmp_path):
    path = tmp_path / "a" / "report.md"
    write_atomically(path, b"one")
    write_atomically(path, b"two")
    assert path.read_bytes() == b"two"
    assert [file.name for file in path.parent.iterdir()] == ["report.md"]


def test_a_file_that_cannot_be_written_is_an_error_that_names_it(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(ReportError, match=r"file/report\.md: cannot be written: "):
        write_atomically(tmp_path / "file" / "report.md", b"x")
    with pytest.raises(ReportError, match="cannot be written"):
        write_atomically(tmp_path, b"x")


def test_the_line_that_says_what_differs_is_among_the_few_that_are_quoted():
    report = drifted(MIXED).report()
    view = view_of(report)
    (logins,) = [f for group in view.groups for f in group.findings if f.setting == "management.logins"]
    assert len(logins.evidence) > len(logins.telling) == 3
    assert [text.strip() for _, text in logins.telling if "http" in text] == ["set allowaccess ping http"]


def test_conforming_with_something_unverified_is_not_called_everything():
    report = conforming(MIXED).report()
    assert report.verdict == "conforming"
    assert report.counts.unverified > 0
    assert "Everything" not in view_of(report).headline
    text = plan_text(MIXED).replace("isolated: true", "isolated: false")
    whole = replace(conforming(MIXED), plan=parse("plan.yaml", text.encode())).report()
    assert (whole.verdict, whole.counts.unverified) == ("conforming", 0)
    assert "Everything" in view_of(whole).headline


@cache
def proposed() -> Report:
    """Return a report with proposals, one of them with text that a format could take for markup."""
    site = conforming(QUARRY)
    core = edited(site.text(CORE), "description x-ray", "description a ```b``` <b>|c</b> [d](e)")
    core = edited(core, " switchport trunk native vlan 99\n", "")
    return site.having(CORE, core).report()


def test_a_proposal_says_everywhere_that_it_is_one_and_was_not_sent():
    for form in (form for form in FORMATS if form.file in ("report.md", "report.html")):
        shown = form.render(view_of(proposed())).decode()
        assert "Proposed correction (a proposal to review; nothing was sent)" in shown
        assert " switchport trunk native vlan 99" in shown


def test_a_terminal_tells_of_proposals_without_their_commands():
    shown = on_a_terminal(proposed())
    assert f"propose a correction for {len(proposed().findings)} findings" in shown
    assert "nothing was sent" in shown
    assert " switchport trunk native vlan 99" not in shown
    assert "proposal" not in on_a_terminal(conforming(QUARRY).report())


def test_a_page_folds_proposals_and_shows_all_their_cautions():
    page = Page(next(form for form in FORMATS if form.file == "report.html").render(view_of(proposed())).decode())
    assert page.text.count("Proposed correction (a proposal to review; nothing was sent)") == len(proposed().findings)
    assert page.text.count("Undo") == len(proposed().findings)
    assert page.open == []
    for finding in proposed().findings:
        assert finding.proposed is not None
        for text in (*finding.proposed.cautions, *finding.proposed.settles):
            assert text in page.text
        assert "\n".join(finding.proposed.undo) in page.text
    assert "b" not in page.tags


def test_backticks_in_a_command_do_not_end_its_block_of_code():
    described = "a ```b``` <b>|c</b> [d](e)"
    site = conforming(QUARRY)
    plan = parse("plan.yaml", edited(plan_text(QUARRY), "description: x-ray", f"description: '{described}'").encode())
    report = replace(site, plan=plan).report()
    text = next(form for form in FORMATS if form.file == "report.md").render(view_of(report)).decode()
    page = Page(MarkdownIt("gfm-like", {"html": True, "linkify": False}).render(text))
    assert f" description {described}" in page.text
    assert not {"a", "b"} & set(page.tags)


def test_a_finding_without_a_proposal_says_why():
    report = conforming(QUARRY).report(environment={"QUARRY_GUEST": "another passphrase"})
    assert {finding.setting for finding in report.findings} == {"ssids.Quarry Guest.passphrase_matches"}
    for form in (form for form in FORMATS if form.file in ("report.md", "report.html")):
        assert "No correction is proposed: the tool never handles a passphrase" in form.render(view_of(report)).decode()
