"""Names and descriptions never become commands, and secrets never stand in them."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from auditor.core.report import Finding
from auditor.corrections import propose
from auditor.corrections.propose import BY_HAND
from auditor.errors import PlanError, RenderError
from auditor.plan.loader import parse
from tests.compare.site import conforming, edited, plan_text
from tests.corrections.proof import drift
from tests.effort import amount

CORE = "core1/show_running-config.txt"
XRAY = "ports.GigabitEthernet1/0/13.description"


def planned_as(description: str) -> Finding | None:
    """Return the finding of a port whose planned description is another; none where the plan is wrong."""
    site = conforming("quarry-road")
    text = edited(plan_text("quarry-road"), "description: x-ray", f"description: {json.dumps(description)}")
    try:
        site = replace(site, plan=parse("plan.yaml", text.encode()))
    except PlanError:
        return None
    return next((f for f in site.report().findings if f.setting == XRAY), None)


def observed_as(description: str) -> Finding:
    site = conforming("quarry-road")
    text = edited(site.text(CORE), "description x-ray", f"description {description}")
    return next(f for f in site.having(CORE, text).report().findings if f.setting == XRAY)


@settings(max_examples=amount(quick=6, ci=25, long=60))
@given(st.text(min_size=1, max_size=40))
@example("x\nshutdown")
@example("x\r\n no switchport")
@example("x\u2028shutdown")
@example("x\x1b[2J")
@example("why?")
@example("! no more")
def test_a_planned_description_is_one_line_of_text_or_no_command_at_all(description):
    finding = planned_as(description)
    if finding is None:
        return
    if finding.proposed is None:
        assert finding.by_hand == BY_HAND["text"]
        return
    assert finding.proposed.commands == ["interface GigabitEthernet1/0/13", f" description {finding.expected}"]
    assert all(line.isprintable() for line in finding.proposed.commands)


@pytest.mark.parametrize("description", ["x\nshutdown", "x\u2028shutdown", "x\x1b[2J", "x\u202exx", "why?"])
def test_what_could_be_more_than_text_has_no_proposal(description):
    finding = planned_as(description)
    assert finding is not None
    assert (finding.proposed, finding.by_hand) == (None, BY_HAND["text"])


@pytest.mark.parametrize("description", ["why?", "x\u202exx", "x\u200bxx"])
def test_an_observed_text_that_the_undo_would_need_has_none_either(description):
    finding = observed_as(description)
    assert (finding.proposed, finding.by_hand) == (None, BY_HAND["text"])


def test_an_exclamation_mark_within_a_description_is_text():
    finding = observed_as("x ! shutdown")
    assert finding.proposed is not None
    assert finding.proposed.undo == ["interface GigabitEthernet1/0/13", " description x ! shutdown"]


def test_a_gap_stands_in_the_place_of_a_secret_and_a_caution_says_so():
    case = drift("harbour-bakery/gw1.cfg: the router answers SNMP")
    correction = next(f.proposed for f in case.report.findings if f.setting == "management.snmp")
    assert correction is not None
    assert correction.undo == ["snmp-server community <community> RO"]
    assert any("angle brackets" in caution for caution in correction.cautions)


def test_a_passphrase_is_never_proposed():
    case = drift("harbour-bakery/ap1.cfg: the guests' passphrase is another one")
    assert [(f.proposed, f.by_hand) for f in case.report.findings] == [(None, BY_HAND["passphrase"])]


def test_a_template_that_fails_costs_its_proposals_and_not_the_audit(monkeypatch):
    def broken(*_):
        raise RenderError("cisco_ios/corrections.yaml:1: no such thing")

    monkeypatch.setattr(propose, "render_lines", broken)
    finding = observed_as("ultrasound")
    assert finding.proposed is None
    assert finding.by_hand.startswith(BY_HAND["broken"])


def test_a_device_that_could_not_be_read_has_no_findings_and_no_corrections():
    site = conforming("quarry-road").having(CORE, "")
    assert [f for f in site.report().findings if f.device == "core1"] == []
