"""Sites by people who knew neither reader nor fixtures: what they changed is told, and what is harmless is not.

What each dialect's lines do is as the people who wrote the sites knew it, from memory of its handbooks.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tests import effort
from tests.strangers.sites import FOLDER, KINDS, in_order, stranger, wrong

SITES = sorted(path.parent for path in FOLDER.glob("*/plan.yaml"))


def name_of(folder: Path, case: dict[str, Any]) -> str:
    return f"{folder.name}: {case['name']}"


def tried() -> list[tuple[Path, dict[str, Any]]]:
    return [
        (folder, case)
        for folder in SITES
        for case in effort.share(stranger(folder).cases, partial(name_of, folder), quick=40, ci=5)
    ]


@pytest.mark.parametrize("folder", SITES, ids=lambda folder: folder.name)
def test_a_site_as_it_was_written_conforms(folder: Path) -> None:
    report = in_order(folder)
    assert (report.exit_code, report.findings) == (0, [])


@pytest.mark.parametrize("folder", SITES, ids=lambda folder: folder.name)
def test_cases_are_told_apart_and_have_a_kind(folder: Path) -> None:
    cases = stranger(folder).cases
    assert len({case["name"] for case in cases}) == len(cases)
    assert {case["kind"] for case in cases} <= set(KINDS)
    assert all(case.get("why") for case in cases if case["kind"] in {"silent", "alarm"})


@pytest.mark.parametrize(("folder", "case"), [pytest.param(*one, id=name_of(*one)) for one in tried()])
def test_a_change_is_what_its_kind_says(folder: Path, case: dict[str, Any]) -> None:
    assert wrong(folder, case) == ""
