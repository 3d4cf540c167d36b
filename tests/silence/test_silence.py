"""Silence must be earned: a change of a capture that an audit passes over stands in the ledger, with a reason."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from auditor.plan.loader import parse
from auditor.platforms import catalogue
from auditor.reading.source import Disposition
from tests.compare.site import PASSPHRASES, PLATFORM_SITES, Site, conforming, edited, plan_text
from tests.effort import drawn, level
from tests.silence import ledger
from tests.silence.changes import KINDS, Change
from tests.silence.ledger import REASONS, Ledger, Silence
from tests.silence.outline import Outline
from tests.silence.trials import Trials, trials_of

QUICK, CI = 150, 10
"""Of so many changes one is tried in the quick loop, and in .ci/run."""


@cache
def devices(platform: str) -> list[Trials]:
    """Return the devices whose captures are changed; what is read of them unchanged is kept."""
    return ledger.devices_of(platform, ledger.sites_of(platform))


@pytest.mark.parametrize("platform", catalogue.names())
def test_whatever_is_silent_stands_in_the_ledger_with_a_reason(platform):
    path = ledger.path_of(platform)
    if not path.is_file():
        pytest.skip(f"no ledger yet: python -m tests.silence.ledger {platform} --write begins one")
    known = ledger.load(path)
    assert known.unclassified == [], "give each a reason, or have it told"
    found = ledger.search(devices(platform), quick=QUICK, ci=CI)
    assert {name: found.names[name] for name in found.new(known)} == {}
    if level() == 2:
        assert found.stale(known) == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_names_hold_no_secret(platform):
    """Of all changes, told or not: nothing of what redaction takes out of a line may be left in what is told of it."""
    for trials in devices(platform):
        for change in trials.changes():
            name = trials.called(change)
            told = set(re.findall(r"[\w.$/+-]+", name.rpartition(" / ")[2]))
            assert not told & trials.secrets(change.file, change.of), f"{change.file}:{change.of + 1}"
            assert not [secret for secret in PASSPHRASES.values() if secret in name]


def test_captures_hold_secrets_to_be_left_out():
    """Else the test above would look for none."""
    for platform in ("cisco_ios", "openwrt", "fortinet", "juniper_junos"):
        changes = [(trials, change) for trials in devices(platform) for change in trials.changes()]
        assert any(trials.secrets(change.file, change.of) for trials, change in changes), platform


@pytest.mark.parametrize("platform", catalogue.names())
def test_a_change_that_needs_only_the_device_is_told_by_the_whole_audit_too(platform):
    for trials in devices(platform):
        for change in drawn(trials.changes(), trials.key, 400 if level() else 4000):
            lines = trials.outlines[change.file].lines
            report = trials.site.having(change.file, change.made_in(lines)).audited()
            assert (report.exit_code == 0) == (trials.silent(change) is not None), trials.called(change)


@pytest.mark.parametrize("platform", catalogue.names())
def test_every_kind_of_change_is_made_and_no_two_are_the_same(platform):
    every = [(trials, change) for trials in devices(platform) for change in trials.changes()]
    keys = [trials.key(change) for trials, change in every]
    assert len(set(keys)) == len(keys)
    without = {"negate"} if "negate" not in {change.kind for _, change in every} else set()
    assert {change.kind for _, change in every} == KINDS.keys() - without
    for trials, change in every:
        assert change.made_in(trials.outlines[change.file].lines) != trials.site.files[change.file]


def planted() -> tuple[list[Trials], list[Trials]]:
    """Return a device whose plan says where its time comes from, and the same with a plan that leaves it open."""
    site = conforming("arista_eos")
    text = edited(plan_text("arista_eos"), "ntp: [10.77.99.5, 10.77.99.6], ", "", everywhere=True)
    return _core(site), _core(replace(site, plan=parse("plan.yaml", text.encode())))


def _core(site: Site) -> list[Trials]:
    return [trials for trials in trials_of("arista_eos", site, "arista_eos") if trials.device == "core1"]


def times(device: list[Trials]) -> Silence:
    """Try what changes of the lines that say where the time comes from."""
    (trials,) = device
    lines = trials.outlines["core1.cfg"].lines

    class Few(Trials):
        def changes(self):
            return (each for each in Trials.changes(self) if each.of >= 0 and lines[each.of].startswith("ntp server"))

    return ledger.search([Few(trials.site, trials.name, trials.device)], one_of=1)


def test_a_planted_silent_change_is_found():
    """What no plan says of is not judged: so its changes, told before, are silent then, and new."""
    told, silent = map(times, planted())
    name = "delete: ntp server N"
    assert name not in told.names
    assert name in silent.new(Ledger())
    assert silent.names[name].startswith("arista_eos/core1.cfg:")
    assert silent.new(Ledger({"not planned": ["*ntp*"]})) == []
    assert silent.new(Ledger({"not planned": ["number: *"]})) != []


def test_what_is_not_silent_any_more_is_stale():
    told, silent = map(times, planted())
    known = Ledger({"not planned": ["delete: ntp server N"]})
    assert silent.stale(known) == []
    assert told.stale(known) == ["delete: ntp server N"]


def test_writing_keeps_reasons_takes_out_what_is_stale_and_asks_for_the_rest(tmp_path):
    found = Silence(names={"delete: a": "x:1", "word: b": "x:2", "number: c": "x:3"})
    found.automatic["comment"] = 4
    old = Ledger({"name": ["delete: a", "delete: gone"], "harmless": ["word: *"]}, {"comment": 9}, ["swap: earlier"])
    whole, part = (ledger.written(old, found, whole=whole) for whole in (True, False))
    assert whole == Ledger({"name": ["delete: a"], "harmless": ["word: *"]}, {"comment": 4}, ["number: c"])
    assert part == Ledger(old.entries, {"comment": 9}, ["number: c", "swap: earlier"])
    path = tmp_path / "any.yaml"
    path.write_text(whole.text("any"), encoding="utf-8")
    assert ledger.load(path) == whole


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("because: ['delete: a']\n", "because: the reasons are"),
        ("name: ['delete: a']\nharmless: ['delete: a']\n", "more than once: delete: a"),
    ],
)
def test_a_ledger_has_reasons_of_the_list_alone(tmp_path, text, wrong):
    path = tmp_path / "any.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match=wrong):
        ledger.load(path)


@pytest.mark.parametrize("platform", ["cisco_ios", "fortinet"])
def test_a_disposition_is_no_reason_for_an_invented_line_where_lines_are_read(platform):
    """An invented line below a section that is read has no account but that nobody knows it.

    Both lines are comments, which any reader passes over; what is tried is whether that earns silence.
    """
    told: dict[Disposition, set[str]] = {}
    for trials in devices(platform):
        for lines in trials.before.lines:
            outline = trials.outlines[lines.name]
            for head in drawn(outline.heads(), str, 5):
                sign = "!" if outline.layout == "indented" else "#"
                below = Change("key", lines.name, head + 1, 0, (f"{sign} zorple",), head, head=head, invented=True)
                after = trials.silent(below)
                assert after is not None
                told.setdefault(Disposition(lines.kinds[head]), set()).add(trials.reason(below, after))
    assert told[Disposition.READ] == {""}
    assert told[Disposition.OUTSIDE] <= {"comment", "outside"}


def test_every_platform_has_a_site_and_most_have_one_of_their_own():
    for platform in catalogue.names():
        assert devices(platform), platform
        assert ledger.sites_of(platform)[0] == platform or platform not in PLATFORM_SITES


def test_an_outline_tells_what_stands_below_what():
    text = ["interface a", " one", "interface b", " two", "  three", "end"]
    outline = Outline("indented", text, [True] * 6)
    assert outline.above == [-1, 0, -1, 2, 3, -1]
    assert [outline.end(head) for head in outline.heads()] == [1, 4, 4]
    assert Outline("indented", ["vlan 1", " name x", " exit"], [True] * 3).end(0) == 1
    menus = ["/ip pool", "add name=x \\", "    ranges=y", "/ip dns", "set servers=z"]
    assert Outline("statements", menus, [True] * 5).above == [-1, 0, 0, -1, 3]
    assert Outline("braces", ["set a b 1", "set a c 2"], [True] * 2).layout == "set"


def test_reasons_and_kinds_say_what_they_mean():
    assert all(REASONS.values())
    assert all(KINDS.values())
