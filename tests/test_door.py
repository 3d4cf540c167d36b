"""What callers of the library give: what cannot be used is an AuditorError that says so; the manual is right."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import auditor
from auditor import (
    AuditorError,
    Limits,
    SavedCaptures,
    audit,
    audit_sites,
    capture_sites,
    load_plan,
    manual_pages,
    read_capture,
    review_plans,
    site_history,
)
from auditor.cli import COMMANDS
from tests.compare.site import NETWORKS

SITE = NETWORKS / "harbour-bakery"
PLAN, CAPTURES = SITE / "plan.yaml", SITE / "conforming"


def untyped(value: object) -> Any:
    """Return a value that a type checker would refuse: not everybody has one."""
    return value


SLIPS: dict[str, tuple[Callable[[], object], str]] = {
    "no plans": (lambda: audit_sites([]), "plans: expected one path at least"),
    "one plan for a list": (lambda: audit_sites("plan.yaml"), "plans: expected a list of paths, not the single 'plan"),
    "a path for a list": (lambda: review_plans(untyped(PLAN)), "plans: expected a list of paths"),
    "no plans to capture": (lambda: capture_sites([], "out"), "plans: expected one path at least"),
    "no plans to review": (lambda: review_plans([]), "plans: expected one path at least"),
    "no files": (lambda: read_capture("cisco_ios", []), "files: expected one path at least"),
    "an unknown occasion": (
        lambda: audit_sites([PLAN], captures=CAPTURES, occasion=untyped("yearly"), keep=False),
        "occasion: expected acceptance, routine, after-change, not 'yearly'",
    ),
    "an unknown occasion of one site": (
        lambda: audit(load_plan(PLAN), SavedCaptures(CAPTURES), occasion=untyped("yearly")),
        "occasion: expected acceptance, routine, after-change, not 'yearly'",
    ),
    "a week as an age": (
        lambda: audit(load_plan(PLAN), SavedCaptures(CAPTURES), max_age=untyped("a week")),
        "max_age: expected a number of days, None or 'by occasion', not 'a week'",
    ),
    "an age below nothing": (lambda: audit_sites([PLAN], captures=CAPTURES, max_age=-1), "max_age: expected a number"),
    "a name that no file can have": (lambda: load_plan("a\0b"), "a\0b: cannot be read: "),
    "a history that is not there": (lambda: site_history(PLAN, history="nowhere/h.sqlite"), "nowhere"),
    "no workers": (lambda: Limits(workers=0), "workers: expected a number above 0, not 0"),
    "workers in words": (lambda: Limits(workers=untyped("four")), "workers: expected a number above 0, not 'four'"),
    "no time": (lambda: Limits(device_seconds=0), "device_seconds: expected a number above 0, not 0"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_of_a_caller_is_an_error_in_words(slip: str):
    call, says = SLIPS[slip]
    with pytest.raises(AuditorError) as caught:
        call()
    assert says in str(caught.value)
    assert caught.value.exit_code == 2


def test_the_example_of_the_manual_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any):
    (tmp_path / "plan.yaml").write_bytes(PLAN.read_bytes())
    (tmp_path / "captures").symlink_to(CAPTURES)
    monkeypatch.chdir(tmp_path)
    (page,) = manual_pages("python")
    (example,) = re.findall(r"```python\n(.*?)```", page.text, re.DOTALL)
    exec(compile(example, "python.md", "exec"), {})
    assert capsys.readouterr().out.splitlines()[0].split()[0] in ("conforming", "incomplete")


def test_the_manual_lists_the_calls_that_there_are():
    (page,) = manual_pages("python")
    calls = dict(re.findall(r"^\| `(\w+)\(.*\)` \| `auditor (\w+)` \|$", page.text, re.MULTILINE))
    assert set(calls) <= set(auditor.__all__)
    assert set(calls.values()) == set(COMMANDS)
