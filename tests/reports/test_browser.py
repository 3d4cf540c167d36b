"""report.html in a real browser: the picture is there, whole, legible, at both widths and in both colour schemes."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from auditor.core.report import Report
from auditor.core.service import Services
from auditor.reports.html import FORMAT
from auditor.reports.view import view_of
from tests.reports import sites
from tests.reports.test_picture import HOSTILE, contrast

CHROMIUM = shutil.which("chromium")
pytestmark = [pytest.mark.slow, pytest.mark.skipif(CHROMIUM is None, reason="needs Debian's chromium")]

LOOK = """() => {
  const shown = [...document.querySelectorAll('.picture svg')].filter(svg => svg.getBoundingClientRect().width);
  const rect = e => { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
  const texts = shown.flatMap(svg => [...svg.querySelectorAll('text')].map(text => {
    const style = getComputedStyle(text), box = text.parentNode.querySelector('rect');
    return {
      words: text.firstChild.data, rect: rect(text), group: [...svg.querySelectorAll('g')].indexOf(text.parentNode),
      size: parseFloat(style.fontSize) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width,
      colour: style.fill, background: box ? getComputedStyle(box).fill
                                          : getComputedStyle(document.body).backgroundColor }; }));
  const boxes = shown.flatMap(svg => [...svg.querySelectorAll('rect')].map(box => (
    {rect: rect(box), group: [...svg.querySelectorAll('g')].indexOf(box.parentNode)})));
  const table = [...document.querySelectorAll('.paths th, .paths td')].map(cell => ({
    words: cell.innerText, colour: getComputedStyle(cell).color, size: parseFloat(getComputedStyle(cell).fontSize)}));
  const line = document.querySelector('.picture .wire.bar, .picture .wire.plain');
  return {kinds: shown.map(svg => svg.classList[0]), texts, boxes, table,
          paper: getComputedStyle(document.body).backgroundColor, wire: line && getComputedStyle(line).stroke,
          sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth};
}"""


@dataclass(frozen=True)
class Seen:
    """What a browser shows of a page, and what it complained about."""

    kinds: list[str]
    texts: list[dict[str, Any]]
    boxes: list[dict[str, Any]]
    table: list[dict[str, Any]]
    paper: str
    wire: str | None
    sideways: int
    complaints: list[str]


def hostile() -> Report:
    path = sites.path(
        "wifi", HOSTILE, sites.GUEST, HOSTILE, "\u6f22\u5b57\u306e\u7121\u7dda" * 5, "\u0639\u0631\u0628\u064a" * 6
    )
    return sites.report([sites.device(HOSTILE, "gateway")], Services(paths=[path]), HOSTILE)


SITES = {"small": sites.small, "large": sites.large, "unlinked": sites.unlinked, "hostile": hostile}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM)
        yield started
        started.close()


@pytest.fixture(params=["light", "dark"])
def scheme(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=[390, 1440], ids=["phone", "desk"])
def width(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.fixture(params=list(SITES))
def seen(request: pytest.FixtureRequest, browser: Any, width: int, scheme: str, tmp_path: Path) -> Seen:
    file = tmp_path / "report.html"
    file.write_bytes(FORMAT.render(view_of(SITES[request.param]())))
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda sent: complaints.append(sent.url) if sent.url != file.as_uri() else None)
    page.goto(file.as_uri())
    found = page.evaluate(LOOK)
    page.close()
    return Seen(**found, complaints=complaints)


def overlap(one: list[float], other: list[float]) -> bool:
    """Return whether two rectangles share more than a hair's breadth."""
    return min(one[2], other[2]) - max(one[0], other[0]) > 0.5 and min(one[3], other[3]) - max(one[1], other[1]) > 0.5


def hexadecimal(colour: str) -> str:
    """Return ``rgb(1, 2, 3)`` as ``#010203``."""
    numbers = re.findall(r"[\d.]+", colour)
    assert len(numbers) == 3, f"{colour} is not opaque"
    return "#" + "".join(f"{int(number):02x}" for number in numbers)


def test_the_picture_is_whole_and_legible(seen: Seen, width: int):
    assert seen.kinds == (["narrow"] if width == 390 else ["wide"])
    assert seen.texts
    assert seen.boxes
    assert seen.complaints == []
    assert seen.sideways <= 0
    for text in seen.texts:
        assert text["size"] >= 11, text
        assert text["rect"][2] - text["rect"][0] > 0
        assert 0 <= text["rect"][0] < text["rect"][2] <= width, text
    for at, text in enumerate(seen.texts):
        for other in seen.texts[at + 1 :]:
            assert not overlap(text["rect"], other["rect"]), (text["words"], other["words"])
        for box in seen.boxes:
            if box["group"] != text["group"]:
                assert not overlap(text["rect"], box["rect"]), text["words"]
            else:
                assert box["rect"][0] <= text["rect"][0]
                assert text["rect"][2] <= box["rect"][2]


def test_text_stands_out_from_what_is_behind_it(seen: Seen):
    # WCAG 2.1, SC 1.4.3 for text and SC 1.4.11 for lines, with the colours that the browser made of the style sheet
    for text in seen.texts:
        assert contrast(hexadecimal(text["colour"]), hexadecimal(text["background"])) >= 4.5, text
    for cell in seen.table:
        assert contrast(hexadecimal(cell["colour"]), hexadecimal(seen.paper)) >= 4.5, cell
        assert cell["size"] >= 11
    if seen.wire:
        assert contrast(hexadecimal(seen.wire), hexadecimal(seen.paper)) >= 3


def test_on_paper_the_wide_picture_is_shown_without_backgrounds(browser: Any, tmp_path: Path):
    file = tmp_path / "report.html"
    file.write_bytes(FORMAT.render(view_of(sites.small())))
    page = browser.new_page(viewport={"width": 700, "height": 900}, color_scheme="dark")
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    look = page.evaluate(LOOK)
    assert look["kinds"] == ["wide"]
    assert {text["background"] for text in look["texts"]} <= {"none", "rgb(255, 255, 255)"}
    assert all(contrast(hexadecimal(text["colour"]), "#ffffff") >= 4.5 for text in look["texts"])
    page.close()
