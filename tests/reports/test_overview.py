"""All sites on one page: what is on it, in which order, and that it is inert whatever sites are called."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import subprocess
from datetime import date, timedelta
from pathlib import Path

import pytest

from auditor.core.history import Overview
from auditor.history import History
from auditor.reports.overview import headline, overview_files
from tests.history.made import DAY, at, day, found, report
from tests.reports.hostile import DANGEROUS, TEXTS
from tests.reports.reading import Page

CHROMIUM = shutil.which("chromium")


@pytest.fixture
def history(tmp_path: Path):
    with History.begin(tmp_path / "history.sqlite", at(DAY)) as kept:
        yield kept


def add(history: History, site: str, *counts: int, last: date = DAY, missing: tuple[str, ...] = (), worst="upkeep"):
    """Add audits of a site, a month apart, with so many findings each."""
    for number, count in enumerate(counts, start=1 - len(counts)):
        when = last + timedelta(days=30 * number)
        findings = [
            found(f"vlans.{vlan}", consequence=worst if vlan == 10 else "upkeep") for vlan in range(10, 10 + count)
        ]
        history.add(report(when, findings, site=site, reference="", missing=missing), at(when))


def page_of(overview: Overview) -> tuple[str, Page]:
    text = overview_files(overview)["overview.html"].decode()
    return text, Page(text)


def test_who_needs_somebody_stands_first(history: History):
    add(history, "as planned", 0)
    add(history, "nobody notices", 3)
    add(history, "no service", 1, worst="outage")
    add(history, "not read", 0, missing=("ap1",))
    add(history, "open", 1, worst="exposure")
    add(history, "long ago", 0, last=day(-4))
    overview = history.overview(day(0), 35)
    order = ["open", "no service", "not read", "nobody notices", "long ago", "as planned"]
    assert [line.site for line in overview.sites] == order
    text, _ = page_of(overview)
    assert re.findall(r'<th scope="row">(.*?)</th>', text) == order


@pytest.mark.parametrize(("days", "overdue"), [(35, False), (36, True)])
def test_overdue_is_counted_from_the_day_that_is_given(history: History, days: int, overdue: bool):
    add(history, "Elm Yard", 0)
    overview = history.overview(DAY + timedelta(days=days), 35)
    (line,) = overview.sites
    assert (line.days, line.overdue) == (days, overdue)
    assert (f"» overdue, {days} days" in page_of(overview)[0]) is overdue
    assert ("1 overdue" in headline(overview)) is overdue


def captures_of(*days: date) -> dict[str, date]:
    return dict(zip(("gw1", "core1", "ap1"), days, strict=True))


def test_overdue_counts_from_the_oldest_capture_of_the_last_complete_audit(history: History):
    old, new = DAY - timedelta(days=30), DAY - timedelta(days=2)
    for site, captured in (("dated", captures_of(new, old, new)), ("kept before", None)):
        history.add(report(DAY, site=site, reference="", captured=captured), at(DAY))
    later = DAY + timedelta(days=8)
    missing = report(later, site="dated", reference="", missing=["ap1"], captured={"gw1": later, "core1": later})
    history.add(missing, at(later))  # newer, and not complete
    overview = history.overview(DAY + timedelta(days=11), 40)
    told = {line.site: (line.captured, line.days, line.overdue, line.day) for line in overview.sites}
    assert told == {"dated": (old, 41, True, later), "kept before": (DAY, 11, False, DAY)}
    text, page = page_of(overview)
    assert f"<td>{later}</td>" in text
    assert f"{old} » overdue, 41 days" in page.text
    assert "40 days after the oldest capture of its last complete audit" in page.text
    assert not any(line.overdue for line in history.overview(DAY + timedelta(days=10), 40).sites)


def test_what_was_never_complete_is_overdue_from_its_first_audit_on(history: History):
    for number in range(3):
        when = DAY + timedelta(days=20 * number)
        captured = {"gw1": when - timedelta(days=1)}
        history.add(report(when, missing=["ap1"], captured=captured), at(when))
    (line,) = history.overview(DAY + timedelta(days=40), 40).sites
    assert (line.captured, line.days, line.overdue) == (DAY - timedelta(days=1), 41, True)
    (line,) = history.overview(DAY + timedelta(days=39), 40).sites
    assert not line.overdue


def test_a_trend_is_of_the_last_twelve_audits(history: History):
    add(history, "Elm Yard", *range(15))
    (line,) = history.overview(DAY, 35).sites
    assert line.trend == list(range(3, 15))
    text, _ = page_of(history.overview(DAY, 35))
    assert "14, up from 3" in text
    assert len(re.findall(r"M\d+ 18v-\d+", text)) == 12


@pytest.mark.parametrize(
    ("counts", "told"),
    [([4], "4, first audit"), ([4, 4], "4, unchanged"), ([4, 1], "1, down from 4"), ([0, 2], "2, up from 0")],
)
def test_a_trend_is_told_in_words(history: History, counts: list[int], told: str):
    add(history, "Elm Yard", *counts)
    assert told in page_of(history.overview(DAY, 35))[1].text


def test_what_was_never_read_completely_is_told_of(history: History):
    add(history, "never", 0, 0, missing=("ap1", "core1"))
    add(history, "once", 0, last=day(-1))
    add(history, "once", 0, missing=("ap1",))
    overview = history.overview(DAY, 35)
    assert {line.site: (line.ever_complete, line.unread) for line in overview.sites} == {
        "never": (False, 2),
        "once": (True, 1),
    }
    text = page_of(overview)[1].text
    assert "2 devices not audited, never completely" in text
    assert headline(overview) == "2 sites: 2 incomplete, 1 never read completely."


def test_approved_findings_are_not_counted_but_known(history: History):
    from auditor.core.report import Approval  # noqa: PLC0415 - only here

    approval = Approval(reason="until the refit", approved_by="owner", ticket="", until=date(2026, 12, 31))
    one = report(DAY, [found("vlans.10", approved=approval)])
    history.add(one.model_copy(update={"counts": one.counts.model_copy(update={"approved": 1})}), at(DAY))
    (line,) = history.overview(DAY, 35).sites
    assert (line.verdict, line.trend, line.approved) == ("conforming", [0], 1)


def test_the_page_asks_for_nothing_and_runs_no_script_but_its_own(history: History):
    add(history, "Elm Yard", 1)
    text, page = page_of(history.overview(DAY, 35))
    assert page.open == []
    assert not {"iframe", "img", "link", "form", "object", "a"} & set(page.tags)
    names = {name for name, _ in page.attributes}
    assert not {name for name in names if name.startswith("on")} | ({"src", "href", "style"} & names)
    assert not re.search(r"@import|url\(|https?://|innerHTML|eval\(", text)
    (script,) = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    (policy,) = [str(value) for _, value in page.attributes if "default-src" in str(value)]
    assert policy.startswith("default-src 'none'; ")
    assert f"; script-src 'sha256-{digest}'; " in policy


def test_without_a_script_it_is_a_plain_table(history: History):
    add(history, "Elm Yard", 1)
    text, _ = page_of(history.overview(DAY, 35))
    assert '<div class="controls" role="search" hidden>' in text
    assert "<button" not in re.sub(r"<script>.*?</script>", "", text, flags=re.DOTALL)


@pytest.mark.parametrize("kind", TEXTS)
def test_names_are_inert(history: History, kind: str):
    text = TEXTS[kind]
    history.add(report(DAY, [found(text, text, effect=text)], site=text, reference=text, devices=[text]), at(DAY))
    overview = history.overview(DAY, 35)
    shown, page = page_of(overview)
    assert page.open == []
    assert page.tags.count("script") == 1
    assert not {"img", "a"} & set(page.tags)
    assert not {name for name, _ in page.attributes if name.startswith("on")}
    assert not DANGEROUS & set(shown)
    assert len(shown) < 20_000
    assert json.loads(overview_files(overview)["overview.json"])["sites"][0]["site"] == text


def test_the_file_for_machines_says_the_same(history: History):
    add(history, "Elm Yard", 2, 1)
    overview = history.overview(DAY, 35)
    assert Overview.model_validate_json(overview_files(overview)["overview.json"]) == overview


def test_two_thousand_sites_are_a_page_of_a_megabyte_or_so(history: History):
    add(history, "Elm Yard", *range(12))
    overview = history.overview(DAY, 35)
    many = overview.model_copy(update={"sites": [*overview.sites] * 2000})
    assert len(overview_files(many)["overview.html"]) < 1_500_000


def test_no_site_is_a_page_too(history: History):
    assert "No audit is kept yet." in page_of(history.overview(DAY, 35))[1].text
    assert headline(history.overview(DAY, 35)) == "0 sites."


@pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")
@pytest.mark.slow
def test_a_browser_lets_the_script_run_and_nothing_else(history: History, tmp_path: Path):
    for number, text in enumerate(TEXTS.values()):
        history.add(report(DAY, site=f"{number} {text}", reference=""), at(DAY))
    page = tmp_path / "overview.html"
    page.write_bytes(overview_files(history.overview(DAY, 35))["overview.html"])
    command = [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"]
    shown = subprocess.run(
        [*command, "--dump-dom", str(page)], capture_output=True, text=True, check=True, timeout=120
    ).stdout
    assert '<div class="controls" role="search">' in shown
    assert f"{len(TEXTS)} of {len(TEXTS)} sites" in shown
    assert shown.count("<script>") == 1
    assert "<img" not in shown
