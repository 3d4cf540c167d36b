"""A history with findings of every area, field and kind: ``python -m tests.history.earlier FILE`` writes one.

Run with the package of version 0.1.0 in the place of this one, it wrote ``fixtures/history/0.1.0.sqlite``; it uses
nothing but what both have.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from auditor.core.report import Report
from auditor.history import History
from tests.compare.site import DRIFTS, MIXED, TODAY, Site, cases, changed, conforming, drifted
from tests.conftest import FIXTURES
from tests.history.made import at

FOLDER = FIXTURES / "history"
BEFORE, BETWEEN = TODAY - timedelta(days=14), TODAY - timedelta(days=7)
UNSEEN, MENDED = "unseen", "mended"
"""Two sites more: one with a device that the last run of the history had no capture of, and one that conformed then."""


def cases_of_drift() -> dict[str, dict[str, Any]]:
    """Return all cases of drift by their names."""
    files = sorted([*DRIFTS.glob("drift-*.yaml"), *DRIFTS.glob("*/drift.yaml")])
    return {f"{case['file']}: {case['case']}": case for case in cases(*files)}


@cache
def sites() -> dict[str, Site]:
    """Return the sites of the history by what the history knows them by."""
    known = cases_of_drift()
    chosen: list[str] = yaml.safe_load((FOLDER / "cases.yaml").read_text(encoding="utf-8"))
    found = {name: changed(known[name])[0] for name in chosen}
    found |= {name: drifted("quarry-road") for name in ("quarry-road", UNSEEN, MENDED)} | {MIXED: drifted(MIXED)}
    return {name: _called(name, site) for name, site in found.items()}


def _called(name: str, site: Site) -> Site:
    return replace(site, plan=replace(site.plan, data=site.plan.data.model_copy(update={"reference": name})))


def report_of(site: Site, **options: Any) -> Report:
    """Audit a site, however old its captures are."""
    return site.report(max_age=None, **options)


def main() -> None:
    """Write the history: a run a site, and a second one of two of them."""
    path = Path(sys.argv[1])
    with History.begin(path, at(BEFORE)) as history:
        for site in sites().values():
            history.add(report_of(site, today=BEFORE), at(BEFORE))
        unseen = sites()[UNSEEN]
        history.add(report_of(unseen.without(*unseen.files_of("core1")), today=BETWEEN), at(BETWEEN))
        history.add(report_of(_called(MENDED, conforming("quarry-road")), today=BETWEEN), at(BETWEEN))


if __name__ == "__main__":
    main()
