"""Captures that are no device's of the plan, and captures that are the same as at the audit before."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.called import QUARRY, Caller, Two

LATER = ("--max-age", "none")
SAME = "the same as at the audit before"


@pytest.mark.parametrize(
    ("file", "told"),
    [
        ("old-switch.cfg", True),
        ("spare/running.txt", True),
        ("spare/network", True),
        ("core1.cfg.bak", False),
        ("report/report.html", False),
        (".git/config", False),
        ("core1.txt", False),
    ],
)
def test_a_capture_of_no_device_of_the_plan_is_named(call: Caller, two: Two, tmp_path: Path, file: str, told: bool):
    path = two.folder / "captures" / "clinic" / file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("hostname spare\nend\n")
    out = tmp_path / "report"
    ended = call(
        "audit", two.clinic, two.bakery, "--captures", two.folder / "captures", "--out", out, "--no-history", *LATER
    )
    name = path.relative_to(two.folder / "captures" / "clinic").parts[0]
    words = f"{name} belongs to no device of the plan: add the device to the plan, or remove the capture"
    assert (words in ended.out) is told
    reports = {site: json.loads((out / site / "report.json").read_text()) for site in ("clinic", "bakery")}
    assert {site: report["notes"] for site, report in reports.items()} == {"clinic": [words] * told, "bakery": []}
    verified = call("verify", out / "clinic" / "evidence.zip")
    assert (verified.code, "VERIFIED" in verified.out) == (0, True)


def test_captures_that_did_not_change_to_the_byte_are_told(call: Caller, two: Two, tmp_path: Path):
    def audited() -> str:
        return call("audit", QUARRY / "plan.yaml", "--captures", captures, "--history", kept, *LATER).out

    captures, kept = two.folder / "captures" / "clinic", tmp_path / "history.sqlite"
    assert SAME not in audited()
    assert SAME in (again := audited())
    assert "\n  core1\n" in again
    path = next(iter(sorted((captures / "core1").iterdir())))
    path.write_text(path.read_text() + "\n")
    changed = audited()
    assert SAME in changed
    assert "\n  core1\n" not in changed
