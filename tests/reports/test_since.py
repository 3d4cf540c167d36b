"""What came and went, in every format the same, and inert whatever things are called."""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from rich.console import Console

from auditor.core.changes import COURSES, Course, Since, Traced
from auditor.core.report import Report
from auditor.history import History
from auditor.reports import FORMATS
from auditor.reports.changes import courses, mark, since_words
from auditor.reports.history import show_history
from auditor.reports.terminal import one_line, show
from auditor.reports.view import view_of
from tests.history.made import at, day, found, report
from tests.reports.hostile import DANGEROUS, TEXTS
from tests.reports.reading import Page

LAST = date(2026, 10, 2)
BEFORE: dict[Course, date | None] = {**dict.fromkeys(COURSES), "came back": date(2026, 6, 25)}


def told(course: Course, text: str = "", **more: date | None) -> Traced:
    finding = found(f"vlans.{COURSES.index(course)}{text}", f"core1{text}", effect=f"{course} for people{text}")
    times = {"since": date(2026, 8, 25), "before": BEFORE[course], **more}
    return Traced(
        id=finding.id,
        device=finding.device,
        setting=finding.setting,
        consequence=finding.consequence,
        effect=finding.effect,
        course=course,
        **times,
    )


def reported(text: str = "", *, plan_changed: bool = False) -> Report:
    """Return a report in which findings fared in every way."""
    traced = [told(course, text) for course in COURSES]
    present = [
        found(one.setting, one.device, effect=one.effect) for one in traced if one.course not in ("gone", "not seen")
    ]
    since = Since(day=LAST, plan_changed=plan_changed, findings=traced)
    return report(day(9), present).model_copy(update={"since": since})


def everything(one: Report) -> dict[str, str]:
    """Return what each format for people shows, as text without markup."""
    view, stream = view_of(one), io.StringIO()
    show(view, Console(file=stream, highlight=False, soft_wrap=True, width=80))
    files = {form.file: form.render(view).decode() for form in FORMATS if form.file in ("report.md", "report.html")}
    markdown = MarkdownIt("gfm-like", {"html": True, "linkify": False}).render(files["report.md"])
    shown = {"html": Page(files["report.html"]).text, "markdown": Page(markdown).text, "terminal": stream.getvalue()}
    return {name: re.sub(r"\s+", " ", text) for name, text in shown.items()}


LINE = "Since the audit of 2026-10-02: 1 new, 1 since unknown, 1 came back, 1 unchanged, 1 not seen, 1 gone"


@pytest.mark.parametrize("form", ["html", "markdown", "terminal"])
def test_every_format_says_what_came_and_went(form: str):
    shown = everything(reported())[form]
    assert f"{LINE}{'' if form == 'terminal' else '.'} " in shown
    for text in ("since 2026-08-25", "came back, last seen on 2026-06-25", "since unknown"):
        assert text in shown
    for course in COURSES:
        assert f"{course} for people" in shown
    assert "Not seen this time, and not known to be gone" in shown
    assert shown.index("Gone") < shown.index("gone for people")


@pytest.mark.parametrize("form", ["html", "markdown", "terminal"])
def test_a_first_audit_says_nothing_of_it(form: str):
    assert "Since" not in everything(report(day(0), [found("vlans.10")]))[form]


def test_the_machine_has_it_too():
    view = view_of(reported())
    assert Report.model_validate_json(FORMATS[0].render(view).decode()) == reported()
    assert '"since": null' in FORMATS[0].render(view_of(report())).decode()


def test_the_quiet_line_ends_with_it():
    assert one_line(view_of(reported())).endswith(f". {LINE}")
    assert "Since" not in one_line(view_of(report()))


def test_a_changed_plan_and_a_quiet_time_are_told():
    assert since_words(reported(plan_changed=True).since).line == f"{LINE}; the plan has changed since"
    assert since_words(Since(day=LAST, findings=[])).line == ("Since the audit of 2026-10-02: no findings in either")


@pytest.mark.parametrize(
    ("traced", "words"),
    [
        (told("new"), "new"),
        (told("since unknown"), "since unknown"),
        (told("persists"), "since 2026-08-25"),
        (told("persists", before=date(2026, 3, 1)), "since 2026-08-25; before that, last seen on 2026-03-01"),
        (told("came back"), "came back, last seen on 2026-06-25"),
        (told("gone"), "present since 2026-08-25"),
        (told("not seen"), "present since 2026-08-25"),
    ],
)
def test_marks(traced: Traced, words: str):
    assert mark(traced) == words


def test_every_course_has_a_title_of_its_own():
    since = reported().since
    assert since
    assert len({title for title, _ in courses(since)}) == len(COURSES)


@pytest.mark.parametrize("kind", TEXTS)
def test_names_are_inert_in_what_came_and_went(kind: str):
    one = reported(TEXTS[kind])
    words = since_words(one.since)
    lines = [words.line, *words.marks.values(), *(text for _, texts in words.lists for text in texts)]
    assert not (DANGEROUS | {"\n"}) & set("".join(lines))
    html = next(form for form in FORMATS if form.file == "report.html").render(view_of(one)).decode()
    page = Page(html)
    assert not {"script", "img"} & set(page.tags)
    assert all((value or "").startswith("#") for name, value in page.attributes if name == "href")


@pytest.mark.parametrize("kind", TEXTS)
def test_names_are_inert_in_a_history(kind: str, tmp_path: Path):
    text = TEXTS[kind]
    finding = found(text, text, effect=text)
    with History.begin(tmp_path / "history.sqlite", at(day(0))) as history:
        for number, (findings, missing) in enumerate([([], []), ([finding], []), ([], [text])]):
            history.add(
                report(day(number), findings, site=text, reference="", devices=[text], missing=missing), at(day(0))
            )
        kept = history.of(text, "")
    assert [run.findings for run in kept.runs] == [0, 1, 0]
    assert kept.since
    assert [(traced.effect, traced.course) for traced in kept.since.findings] == [(text, "not seen")]
    stream = io.StringIO()
    show_history(kept, Console(file=stream, highlight=False, soft_wrap=True, width=80))
    shown = stream.getvalue()
    assert not DANGEROUS & set(shown)
    assert "Not seen this time" in shown
    assert len(shown.splitlines()) == 3 + 3 + 4
