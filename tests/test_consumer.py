"""Whoever uses the package is checked by mypy: a misspelt keyword, a wrong type or an unknown name is an error."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT

RIGHT = """
from datetime import date
from pathlib import Path

from auditor import (
    Access, AuditorError, History, Limits, Listener, Live, PlanError, Report, SavedCaptures, audit, audit_sites,
    capture_sites, load_plan, read, read_capture, readable_platforms, review_plans, run_demo, site_history,
    verify_evidence, write_expected, write_overview,
)

plan = load_plan("plan.yaml")
report: Report = audit(plan, SavedCaptures("captures", date(2026, 11, 25)), occasion="acceptance", max_age=None)
code: int = report.exit_code
names: list[str] = [finding.setting for finding in report.findings if finding.consequence == "exposure"]
live = Live(Access(known_hosts=Path("known_hosts")), Limits(workers=4), only=("gw1",))
round_ = audit_sites(["plan.yaml"], captures="captures", out=Path("out"), keep=False, told=Listener(problem=print))
counts: int = round_.sites[0].report.counts.planned
codes: list[int] = [capture_sites(["plan.yaml"], "captures", live=live).exit_code, run_demo().exit_code]
codes += [review_plans(["plan.yaml"]).exit_code, verify_evidence("evidence.zip", environment={}).exit_code]
written: list[Path] = write_expected("plan.yaml", "expected")
runs: int = len(site_history("plan.yaml", history=Path("h.sqlite")).runs) + len(write_overview("all").sites)
reading = read_capture("cisco_ios", ["gw1.cfg"], today=date(2026, 11, 25)).reading
whole: bool = reading.complete
platforms: list[str] = [abilities.platform.name for abilities in readable_platforms()]
with History.open(Path("h.sqlite")) as history:
    name: str = history.of("Mill Lane Bakery", "").site
try:
    read("cisco_ios", [])
except PlanError as error:
    lines: list[int] = [problem.line for problem in error.problems]
except AuditorError as error:
    codes.append(error.exit_code)
"""
"""A consumer's file, as it should be."""
WRONG = {
    'occasion="acceptance"': ('ocasion="acceptance"', "call-arg"),
    "max_age=None": ('max_age="a week"', "arg-type"),
    "code: int = report.exit_code": ("code: str = report.exit_code", "assignment"),
    "finding.setting for": ("finding.seting for", "attr-defined"),
    'captures="captures", out': ("captures=5, out", "arg-type"),
    "keep=False": ("kept=False", "call-arg"),
    "Limits(workers=4)": ('Limits(workers="4")', "arg-type"),
    'only=("gw1",)': ('only="gw1"', "arg-type"),
    "    verify_evidence, write_expected": ("    verify_evidence, write_expectd, write_expected", "attr-defined"),
    'write_overview("all")': ('write_overview("all", overdue=3)', "call-arg"),
    "environment={}": ("environment=[]", "arg-type"),
}
"""What is misspelt or of a wrong type, in the place of what, and mypy's code for it."""


@pytest.mark.slow
def test_correct_use_passes_and_each_mistake_is_an_error(tmp_path: Path):
    (tmp_path / "right.py").write_text(RIGHT)
    for number, (there, (wrong, _)) in enumerate(WRONG.items()):
        assert RIGHT.count(there) == 1, there
        (tmp_path / f"wrong{number}.py").write_text(RIGHT.replace(there, wrong))
    run = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path / "cache"), "--no-error-summary", "."],
        cwd=tmp_path, env={**os.environ, "MYPYPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.stderr == ""
    told: dict[str, list[str]] = {}
    for line in run.stdout.splitlines():
        if ": error: " in line:
            told.setdefault(line.partition(":")[0], []).append(line)
    assert told.pop("right.py", []) == []
    for number, (_, code) in enumerate(WRONG.values()):
        errors = told.pop(f"wrong{number}.py", [])
        assert any(line.endswith(f"[{code}]") for line in errors), (number, errors)
    assert told == {}


@pytest.mark.parametrize("name", ["py.typed"])
def test_the_package_says_that_it_is_typed(name: str):
    assert (ROOT / "auditor" / name).is_file()
