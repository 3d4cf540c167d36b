"""The result in a sentence: what was found, by consequence; a site that is incomplete as well is always called both."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from rich.console import Console

from auditor.core.report import Approval, Finding, Report
from auditor.history import History
from auditor.reports.history import show_history
from auditor.reports.overview import headline, overview_files
from auditor.reports.terminal import one_line
from auditor.reports.view import view_of
from tests.history.made import DAY, at, found, report
from tests.reports.reading import rows
from tests.reports.test_everything import RENDER, SHOWS

EXPOSURES = [
    found("management.logins", "gw1", consequence="exposure", effect="gw1 allows login over telnet."),
    found("ports.1.untagged", consequence="exposure"),
]
OUTAGE, UPKEEP = found("vlans.20"), found("vlans.30", consequence="upkeep")
UNTIL = {"reason": "tried out", "approved_by": "site owner", "ticket": ""}
APPROVED = Approval(**UNTIL, until=DAY)
BOTH = report(findings=[*EXPOSURES, OUTAGE], missing=["ap1"])
BOTH.devices[2] = BOTH.devices[2].model_copy(update={"reason": "it did not answer"})


def approved(finding: Finding, *, expired: bool = False) -> Finding:
    """Return a finding that somebody approved."""
    return finding.model_copy(update={"approved": APPROVED.model_copy(update={"expired": expired})})


@pytest.mark.parametrize(
    ("told", "verdict", "sentence"),
    [
        (report(), "conforming", "Everything planned was verified and is as planned."),
        (
            report(findings=[*EXPOSURES, OUTAGE, UPKEEP]),
            "nonconforming",
            "Not as planned: 2 exposures, 1 outage, 1 for upkeep. First: gw1 allows login over telnet.",
        ),
        (
            report(findings=[UPKEEP, found("vlans.40", consequence="upkeep")]),
            "nonconforming",
            "Not as planned: 2 for upkeep. First: vlans.30 of core1 is not as planned.",
        ),
        (
            BOTH,
            "incomplete and nonconforming",
            "Incomplete, and 2 exposures, 1 outage. First: gw1 allows login over telnet.",
        ),
        (
            report(missing=["ap1"]),
            "incomplete",
            "Incomplete: not everything could be verified. This does not prove that the site is as planned.",
        ),
        (
            report(findings=[approved(EXPOSURES[0])], missing=["ap1"]),
            "incomplete",
            "Incomplete: not everything could be verified. This does not prove that the site is as planned.",
        ),
        (report(findings=[approved(OUTAGE)]), "conforming", "Everything planned was verified and is as planned."),
        (
            report(findings=[approved(EXPOSURES[1]), OUTAGE], missing=["ap1"]),
            "incomplete and nonconforming",
            "Incomplete, and 1 outage. First: vlans.20 of core1 is not as planned.",
        ),
        (
            report(findings=[approved(OUTAGE, expired=True)], missing=["ap1"]),
            "incomplete and nonconforming",
            "Incomplete, and 1 outage. First: vlans.20 of core1 is not as planned.",
        ),
    ],
)
def test_the_result_in_a_sentence(told: Report, verdict: str, sentence: str):
    view = view_of(told)
    assert (view.verdict, view.headline) == (verdict, sentence)


def test_a_quiet_run_says_both():
    assert one_line(view_of(BOTH)).startswith(
        "Mill Lane Surgery (MLS-01): incomplete, and 2 exposures, 1 outage. First: gw1 allows login over telnet. "
    )
    assert ": not as planned: 1 outage. " in one_line(view_of(report(findings=[OUTAGE])))
    assert ": incomplete: not everything could be verified. " in one_line(view_of(report(missing=["ap1"])))


@pytest.mark.parametrize("name", SHOWS)
def test_every_format_says_both(name: str):
    data = RENDER[name](view_of(BOTH))
    if name == "report.json":
        told = json.loads(data)
        assert (told["verdict"], told["complete"], len(told["findings"])) == ("incomplete", False, 3)
        return
    if name == "findings.csv":
        assert {"finding", "not captured"} <= {row["result"] for row in rows(data)}
        return
    shown = " ".join(SHOWS[name].read(data).split())
    assert "incomplete and nonconforming" in shown.lower()
    if name != "report.junit.xml":  # which has no place for a sentence about a site
        assert "Incomplete, and 2 exposures, 1 outage. First: gw1 allows login over telnet." in shown


def test_the_history_and_the_page_of_all_sites_say_both(tmp_path: Path):
    with History.begin(tmp_path / "history.sqlite", at(DAY)) as kept:
        kept.add(BOTH, at(DAY))
        kept.add(report(site="Elm Yard", reference="", missing=["ap1"]), at(DAY))
        kept.add(report(site="Oak Yard", reference="", findings=[OUTAGE]), at(DAY))
        overview = kept.overview(DAY, 35)
        runs = kept.of("Mill Lane Surgery", "MLS-01")
    assert headline(overview) == "3 sites: 2 nonconforming, 2 incomplete, 2 never read completely."
    page = overview_files(overview)["overview.html"].decode()
    assert '<tr class="incomplete nonconforming never">\n<th scope="row">Mill Lane Surgery' in page
    assert page.count("</b> incomplete and nonconforming</td>") == 1
    assert page.count("</b> incomplete</td>") == 1
    out = io.StringIO()
    show_history(runs, Console(file=out, width=200, highlight=False))
    assert "incomplete and nonconforming" in out.getvalue()
