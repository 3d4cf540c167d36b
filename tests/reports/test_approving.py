"""Entries for the plan's ``deviations:``: pasted and filled in, each approves its finding, and no other text of it."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from rich.console import Console

from auditor import yamltree
from auditor.core.report import Finding, Report, finding_id
from auditor.errors import PlanError
from auditor.plan.loader import Plan, parse
from auditor.reports.deviation_entry import NOTE, entry_of
from auditor.reports.markdown import FORMAT as MARKDOWN
from auditor.reports.terminal import one_line, show
from auditor.reports.view import view_of
from tests.compare.site import MIXED, Site, conforming, drifted, edited, plan_text
from tests.effort import share
from tests.reports.everything import HOSTILE, QUARRY, SIGNS, every_outcome

FILLED = {'reason: ""': "reason: until the refit", 'approved_by: ""': "approved_by: site owner"}
WIRELESS = "ap1/wireless"


def hostile_site() -> Site:
    """Return the clinic with a port described, a VLAN named and a Wi-Fi name aired in words that YAML could misread."""
    site = conforming(QUARRY)
    core = site.text("core1/show_running-config.txt")
    core = edited(core, "description x-ray", f"description {HOSTILE} 'a': {{b}}, \"c\" # d")
    brief = edited(site.text("core1/show_vlan_brief.txt"), "50   payment ", "44   0o17      active\n50   payment ")
    aired = "\nconfig wifi-iface 'extra'\n\toption device 'radio0'\n\toption mode 'ap'\n\toption network 'staff'\n"
    aired += "\toption encryption 'none'\n\toption ssid 'yes: {no}, [1e3] # \"\u202e\"'\n"
    return (
        site.having("core1/show_running-config.txt", core)
        .having("core1/show_vlan_brief.txt", brief)
        .having(WIRELESS, site.text(WIRELESS) + aired)
    )


SITES = {"quarry-road": lambda: drifted(QUARRY), MIXED: lambda: drifted(MIXED), "hostile": hostile_site}


def plan_with(name: str, entries: list[str], until: str = "2026-12-31") -> Plan:
    """Return a site's plan with filled-in entries under its deviations, which are made if it has none."""
    text = plan_text(QUARRY if name == "hostile" else name).rstrip()
    lines = []
    for entry in entries:
        filled = entry.replace("YYYY-MM-DD", until)
        for empty, words in FILLED.items():
            filled = filled.replace(empty, words)
        lines.append(f"  {filled}")
    head = "" if "\ndeviations:" in text else "\ndeviations:"
    return parse("plan.yaml", "\n".join([f"{text}{head}", *lines]).encode())


def open_findings(report: Report) -> list[Finding]:
    return [finding for finding in report.findings if finding.counts]


@pytest.mark.parametrize("name", share(SITES, quick=3))
def test_each_entry_approves_its_finding_and_no_other(name: str):
    site = SITES[name]()
    before = site.report()
    assert len(open_findings(before)) >= 3
    for finding in open_findings(before):
        after = replace(site, plan=plan_with(name, [entry_of(finding)])).report()
        left = {f.id for f in open_findings(before)} - {f.id for f in open_findings(after)}
        assert left == {finding.id}, finding.setting


@pytest.mark.parametrize("name", SITES)
def test_all_of_them_at_once_leave_nothing_open(name: str):
    site = SITES[name]()
    entries = view_of(site.report()).entries
    after = replace(site, plan=plan_with(name, entries)).report()
    assert open_findings(after) == []
    assert after.verdict == "conforming"
    assert view_of(after).entries == []


def test_an_entry_approves_nothing_after_its_day():
    site = drifted(QUARRY)
    entries = view_of(site.report()).entries
    after = replace(site, plan=plan_with(QUARRY, entries, until="2026-11-24")).report()
    assert len(open_findings(after)) == len(entries)
    assert len(view_of(after).entries) == len(entries)


def test_an_entry_covers_the_observed_value_alone():
    site = drifted(QUARRY)
    (finding,) = [f for f in open_findings(site.report()) if f.setting.endswith("GigabitEthernet0/6.untagged")]
    plan = plan_with(QUARRY, [entry_of(finding).replace("observed: 10", "observed: 30")])
    assert finding.id in {f.id for f in open_findings(replace(site, plan=plan).report())}


def test_the_plan_is_refused_until_they_are_filled_in():
    (entry, *_) = view_of(drifted(QUARRY).report()).entries
    text = f"{plan_text(QUARRY).rstrip()}\n  {entry}\n"
    with pytest.raises(PlanError) as caught:
        parse("plan.yaml", text.encode())
    assert {problem.key.rpartition(".")[2] for problem in caught.value.problems} == {"reason", "approved_by", "until"}


def finding_of(setting: str, observed: object) -> Finding:
    return Finding.model_validate(
        {
            "id": finding_id("core1", setting), "device": "core1", "area": "ports", "setting": setting,
            "kind": "differs", "observed": observed, "consequence": "upkeep", "effect": "x",
        }
    )  # fmt: skip


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
values = st.recursive(st.none() | st.booleans() | st.integers() | texts, lambda inner: st.lists(inner, max_size=4))


@given(setting=texts, observed=values)
@example(setting="0o17", observed="0x1F")
@example(setting="yes", observed=["1e3", ".5", "~", "null", "12:30:00", "2026-01-31", "=", "<<", "1_000"])
@example(setting="a\nb\x00", observed="\ufeff\u202e\u2028\x85\ufffe\U0001f600")
def test_an_entry_is_one_line_that_says_what_it_should(setting: str, observed: object):
    entry = entry_of(finding_of(setting, observed))
    assert entry.isprintable()
    wanted = {"device": "core1", "setting": setting, "observed": "absent" if observed is None else observed}
    wanted |= {"reason": "", "approved_by": "", "ticket": "", "until": "YYYY-MM-DD"}
    tree = yamltree.parse(entry)
    assert (tree.problems, tree.value) == ([], [wanted])
    assert yaml.safe_load(entry) == [wanted]  # YAML 1.1 reads the same as 1.2


@pytest.mark.parametrize("sign", SIGNS)
def test_hostile_text_stays_in_its_line(sign: str):
    entry = entry_of(finding_of(f"ports.{SIGNS[sign]}.description", SIGNS[sign]))
    assert entry.isprintable()
    assert yamltree.parse(entry).value[0]["observed"] == SIGNS[sign]


def shown(report: Report) -> str:
    stream = io.StringIO()
    show(view_of(report), Console(file=stream, highlight=False, soft_wrap=True, width=80))
    return stream.getvalue()


def test_a_terminal_has_them_once_at_the_end():
    report = every_outcome()
    entries = view_of(report).entries
    assert len(entries) == len(open_findings(report)) == 6
    assert shown(report).endswith("\n".join([NOTE, *(f"  {entry}" for entry in entries), ""]))
    assert NOTE not in shown(conforming(MIXED).report())
    assert "YYYY" not in one_line(view_of(report))


def test_a_ticket_has_them_as_one_block_to_be_pasted():
    view = view_of(every_outcome())
    blocks = [t for t in MarkdownIt().parse(MARKDOWN.render(view).decode()) if t.type == "fence" and t.info == "yaml"]
    assert [block.content.splitlines() for block in blocks] == [view.entries]


def test_the_day_of_an_approval_is_a_day():
    plan = plan_with(QUARRY, view_of(drifted(QUARRY).report()).entries)
    assert plan.data.deviations[-1].until == date(2026, 12, 31)
