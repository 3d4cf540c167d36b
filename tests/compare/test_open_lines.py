"""Lines that leave settings open: not understood ones on planned items, and overriding ones until they are accepted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from auditor.core.report import Report
from auditor.plan.loader import parse
from auditor.platforms import catalogue
from auditor.platforms.shape import OverridingLines
from auditor.reading import dialect
from tests.compare.site import Site, conforming, edited, plan_text

QUARRY = "quarry-road"
CORE = "core1/show_running-config.txt"
PORT = "GigabitEthernet1/0/5"
LINE = "zorple vlan 40"
EXPIRED = "expired on 2026-01-31 and still present: renew the approval or correct the device"
WHY = "zorple gives the VLAN; look at it"
RULE = {"lines": [r"zorple vlan (\d+)"], "why": WHY, "bears_on": ["ports.untagged"]}
IN_FORCE = {"lines": ["quux"], "why": WHY, "bears_on": ["ports.untagged"], "when": "^ zorple vlan 50$"}


@pytest.fixture
def overriding(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Have the dialect know an invented line that overrides the VLAN of a port."""
    platform = catalogue.get("cisco_ios")
    sections = [
        rule.model_copy(
            update={
                "overriding": [OverridingLines.model_validate(each) for each in (RULE, IN_FORCE)],
                "limits": {"asks who is there": ["quux"]},
            }
        )
        if rule.template == "interface"
        else rule
        for rule in platform.sections
    ]
    made = dialect.Dialect(platform.model_copy(update={"sections": sections}))
    others = dialect.Dialect
    monkeypatch.setattr(dialect, "Dialect", lambda each: made if each.name == platform.name else others(each))
    dialect.dialect.cache_clear()
    yield
    dialect.dialect.cache_clear()


def site(*lines: str) -> Site:
    whole = conforming(QUARRY)
    more = "".join(f"\n {line}" for line in lines)
    return whole.having(CORE, edited(whole.text(CORE), f"interface {PORT}", f"interface {PORT}{more}"))


def approved(text: str, setting: str = f"ports.{PORT}.untagged", until: str = "2099-12-31") -> str:
    return (
        f"\n  - {{device: core1, setting: {setting}, line: {text}, reason: trial, approved_by: site owner, "
        f"until: {until}}}\n"
    )


def audited(changed: Site, deviation: str = "") -> Report:
    text = plan_text(QUARRY).rstrip() + deviation
    return replace(changed, plan=parse("plan.yaml", text.encode())).report()


def stale(report: Report) -> list[str]:
    """Return what is told of the approvals in this file, not of the plan's own."""
    return [each.why for each in report.deviations if PORT in each.setting or each.setting == "ports"]


def open_settings(report: Report) -> dict[str, str]:
    return {str(u.setting): u.cause for u in report.unverified if u.cause in ("overriding", "not-understood")}


def test_a_line_that_nobody_understood_leaves_its_port_unverified():
    report = audited(site("frobnicate"))
    assert set(open_settings(report).values()) == {"not-understood"}
    assert {name.rpartition(".")[0] for name in open_settings(report)} == {f"ports.{PORT}"}
    assert report.exit_code == 3
    assert report.counts.planned == report.counts.conforming + report.counts.nonconforming + report.counts.unverified


def test_an_overriding_line_leaves_what_it_bears_on_unverified(overriding):
    report = audited(site(LINE))
    assert open_settings(report) == {f"ports.{PORT}.untagged": "overriding"}
    (core,) = [device for device in report.devices if device.name == "core1"]
    assert [(line.text.strip(), line.bears_on) for line in core.overriding] == [(LINE, [f"ports.{PORT}.untagged"])]
    assert (report.exit_code, core.verdict) == (3, "incomplete")
    assert any(WHY in each.why for each in core.incomplete)


@pytest.mark.parametrize(("more", "listed"), [((), "limits"), (("zorple vlan 50",), "overriding")])
def test_a_line_that_hangs_on_others_overrides_where_these_are_there(overriding, more: tuple[str, ...], listed: str):
    report = audited(site("quux", *more))
    (core,) = [device for device in report.devices if device.name == "core1"]
    assert {
        name: [line.text.strip() for line in getattr(core, name) if line.text.strip() == "quux"]
        for name in ("limits", "overriding")
    } == {"limits": [], "overriding": [], listed: ["quux"]}
    assert report.exit_code == (3 if more else 0)


@pytest.mark.parametrize("setting", [f"ports.{PORT}.untagged", f"ports.{PORT}", "ports"])
def test_an_accepted_line_leaves_the_audit_complete_and_the_setting_unverified(overriding, setting: str):
    report = audited(site(LINE), approved(LINE, setting))
    assert open_settings(report) == {f"ports.{PORT}.untagged": "overriding"}
    assert (report.exit_code, report.complete, stale(report)) == (0, True, [])


@pytest.mark.parametrize(
    ("lines", "deviation", "why"),
    [
        ((LINE,), approved("zorple vlan 41"), "no overriding line matches this approval: remove it"),
        ((LINE, "zorple vlan 50"), approved(LINE), None),
        ((LINE,), approved(LINE, until="2026-01-31"), EXPIRED),
        ((LINE,), approved(LINE, f"ports.{PORT}.tagged"), "no overriding line matches this approval: remove it"),
        (("frobnicate",), approved("frobnicate"), "no overriding line matches this approval: remove it"),
    ],
)
def test_what_accepts_another_line_or_ends_leaves_the_audit_incomplete(overriding, lines, deviation, why):
    report = audited(site(*lines), deviation)
    assert report.exit_code == 3
    assert stale(report) == ([why] if why else [])


def test_an_approval_of_a_line_that_is_gone_is_stale(overriding):
    report = audited(conforming(QUARRY), approved(LINE))
    assert stale(report) == ["no overriding line matches this approval: remove it"]
    assert report.exit_code == 0


@pytest.mark.parametrize(
    ("lines", "wholly_checked"),
    [
        ("list dns '10.83.5.10'", False),
        ("list dns '10.83.5.10'\n\toption peerdns '1'", False),
        ("list dns '10.83.5.10'\n\toption peerdns '0'", True),
    ],
)
def test_resolvers_of_the_carrier_leave_those_of_the_device_unverified(lines: str, wholly_checked: bool):
    """OpenWrt's guide to the network: ``peerdns`` is on unless it is said to be off (from memory)."""
    whole, file = conforming("tannery-studios"), "fw1/network"
    text = plan_text("tannery-studios")
    plan = parse(
        "plan.yaml", edited(text, "logins: [ssh]}\n\nlinks", "logins: [ssh], dns: [10.83.5.10]}\n\nlinks").encode()
    )
    pppoe = "option proto 'pppoe'\n"
    changed = whole.having(file, edited(whole.text(file), pppoe, f"{pppoe}\t{lines}\n"))
    report = replace(changed, plan=plan).report()
    assert not report.findings
    assert report.complete is wholly_checked
    assert ["management.dns"] * (not wholly_checked) == [
        str(each.setting) for each in report.unverified if each.cause == "overriding"
    ]
