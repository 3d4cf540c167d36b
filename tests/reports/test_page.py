"""report.html for everybody: valid HTML, accessible in a browser, by keyboard and on paper, whatever a device says.

Validated by npm's html-validate with its recommended rules, and by axe-core with those of WCAG 2.2, A and AA.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from auditor.core.report import Report
from auditor.reports.html import FORMAT
from auditor.reports.sanitize import sanitize
from auditor.reports.view import view_of
from tests.compare.site import MIXED, conforming, drifted
from tests.reports import sites
from tests.reports.everything import SIGNS, every_outcome, planted
from tests.reports.packages import npm

CHROMIUM = shutil.which("chromium")
in_a_browser = pytest.mark.skipif(CHROMIUM is None, reason="needs Debian's chromium")
pytestmark = pytest.mark.slow
REPORTS: dict[str, Callable[[], Report]] = {
    "every outcome": every_outcome,
    "conforming": lambda: conforming(MIXED).report(),
    "drifted": lambda: drifted(MIXED).report(),
    "services": sites.small,
    "large": sites.large,
    "unlinked": sites.unlinked,
    "markup": lambda: planted(SIGNS["markup"]),
    "long": lambda: planted(SIGNS["long"]),
}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM)
        yield started
        started.close()


def written(report: Report, folder: Path) -> Path:
    file = folder / "report.html"
    file.write_bytes(FORMAT.render(view_of(report)))
    return file


@pytest.mark.parametrize("name", REPORTS)
def test_the_page_is_valid(name: str, tmp_path: Path):
    node = shutil.which("node")
    if node is None:
        pytest.skip("needs Debian's nodejs")
    command = npm("html-validate/bin/html-validate.mjs")
    rules = {"extends": ["html-validate:recommended", "html-validate:document"], "root": True}
    rules |= {"rules": {"long-title": "off"}}  # a site may be called what it likes
    (tmp_path / "rules.json").write_text(json.dumps(rules))
    file = written(REPORTS[name](), tmp_path)
    run = subprocess.run(
        [node, command, "--config", tmp_path / "rules.json", "--formatter", "json", file],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    complaints = [message for page in json.loads(run.stdout) for message in page["messages"]]
    assert (complaints, run.returncode) == ([], 0)


@in_a_browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440], ids=["phone", "desk"])
@pytest.mark.parametrize("name", REPORTS)
def test_axe_has_nothing_to_say(name: str, width: int, scheme: str, browser: Any, tmp_path: Path):
    axe = npm("axe-core/axe.min.js").read_text(encoding="utf-8")
    view = {"width": width, "height": 900}
    context = browser.new_context(viewport=view, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(written(REPORTS[name](), tmp_path).as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    page.evaluate(axe)
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)
    context.close()
    assert len(found["passes"]) > 20
    assert [(wrong["id"], wrong["nodes"][0]["html"]) for wrong in found["violations"]] == []


@in_a_browser
def test_axe_finds_what_is_wrong(browser: Any, tmp_path: Path):
    axe = npm("axe-core/axe.min.js").read_text(encoding="utf-8")
    text = FORMAT.render(view_of(every_outcome())).decode()
    file = tmp_path / "report.html"
    file.write_text(text.replace('lang="en"', "").replace("--dim: #54544f", "--dim: #b0b0b0"), encoding="utf-8")
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto(file.as_uri())
    page.evaluate(axe)
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)
    context.close()
    assert {"html-has-lang", "color-contrast"} <= {wrong["id"] for wrong in found["violations"]}


@in_a_browser
@pytest.mark.parametrize("width", [390, 1440], ids=["phone", "desk"])
@pytest.mark.parametrize("sign", SIGNS)
def test_hostile_text_is_shown_and_does_nothing(sign: str, width: int, browser: Any, tmp_path: Path):
    page = browser.new_page(viewport={"width": width, "height": 900})
    file = written(planted(SIGNS[sign]), tmp_path)
    happened: list[str] = []

    def refuse(dialog: Any) -> None:
        happened.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", refuse)
    page.on("console", lambda message: happened.append(message.text))
    page.on("pageerror", lambda error: happened.append(str(error)))
    page.on("request", lambda sent: happened.append(sent.url) if sent.url != file.as_uri() else None)
    page.goto(file.as_uri())
    shown = page.evaluate("document.body.innerText")
    counts = page.evaluate("['script', 'img', 'iframe', 'a[href^=http]'].map(s => document.querySelectorAll(s).length)")
    sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    page.close()
    assert (happened, counts, sideways) == ([], [0, 0, 0, 0], 0)
    assert sanitize(SIGNS[sign]).split()[0][:200] in shown


@in_a_browser
def test_the_findings_are_reached_by_keyboard(browser: Any, tmp_path: Path):
    report = every_outcome()
    page = browser.new_page()
    page.goto(written(report, tmp_path).as_uri())
    focused = "document.activeElement.textContent"
    page.keyboard.press("Tab")
    skip = page.evaluate("document.activeElement.getBoundingClientRect().left >= 0 && " + focused)
    assert skip == "Skip to the findings"
    style = "(s => [s.outlineStyle, parseFloat(s.outlineWidth)])(getComputedStyle(document.activeElement))"
    kind, wide = page.evaluate(style)
    assert kind == "solid"
    assert wide >= 2  # WCAG 2.2, SC 2.4.13: as thick as two pixels
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#exposure"
    page.keyboard.press("Tab")  # goes on from where the link led
    first = page.evaluate("document.activeElement.closest('article').id")
    assert first == f"f{report.findings[0].id}"
    row = page.locator("table").first.locator("tr", has_text="core1")
    row.locator("a").first.click()
    assert page.evaluate("document.querySelector(':target').id") == f"f{report.findings[0].id}"
    reached = {page.evaluate("location.hash")}
    while page.locator(":target a.following").count():
        page.locator(":target a.following").first.click()
        reached.add(page.evaluate("location.hash"))
    page.close()
    assert reached == {f"#f{finding.id}" for finding in report.findings if finding.device == "core1"}


@in_a_browser
def test_details_open_by_keyboard(browser: Any, tmp_path: Path):
    page = browser.new_page()
    page.goto(written(every_outcome(), tmp_path).as_uri())
    page.locator("details.approving summary").first.focus()
    page.keyboard.press("Enter")
    assert page.locator("details.approving pre").first.is_visible()
    page.close()


@in_a_browser
@pytest.mark.parametrize("width", [390, 1440], ids=["phone", "desk"])
def test_a_screen_reader_meets_tables_and_headings_in_order(width: int, browser: Any, tmp_path: Path):
    context = browser.new_context(viewport={"width": width, "height": 900})
    page = context.new_page()
    page.goto(written(every_outcome(), tmp_path).as_uri())
    nodes = context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    roles = [node["role"]["value"] for node in nodes if not node.get("ignored")]
    names = [node["name"]["value"] for node in nodes if node.get("role", {}).get("value") == "table"]
    levels = page.evaluate("[...document.querySelectorAll('h1, h2, h3')].map(h => +h.tagName[1])")
    context.close()
    assert names == ["Devices", "Service paths"]
    assert roles.count("columnheader") == 15  # also where the heads are out of sight
    assert roles.count("rowheader") >= 5
    assert levels[0] == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))


@in_a_browser
def test_paper_has_the_corrections_open_and_nothing_to_click(browser: Any, tmp_path: Path):
    page = browser.new_page(viewport={"width": 700, "height": 900}, color_scheme="dark")
    page.goto(written(every_outcome(), tmp_path).as_uri())
    page.emulate_media(media="print")
    height = "selector => [...document.querySelectorAll(selector)].map(part => part.getBoundingClientRect().height)"
    assert all(page.evaluate(height, "details .commands"))
    assert not any(page.evaluate(height, "nav, .skip, .approving, .following"))
    page.close()
