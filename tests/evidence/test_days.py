"""Evidence holds of which day its captures are, and the limit: its report comes again on any later day."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from auditor.app import auditing
from auditor.app.auditing import audit
from auditor.capture.files import SavedCaptures
from auditor.core.days import Days
from auditor.evidence import Recorded, evidence_of, verify
from auditor.evidence.archive import unpack
from auditor.evidence.manifest import MANIFEST
from auditor.reports import FORMATS
from auditor.reports.view import view_of
from tests.compare.site import PASSPHRASES, TODAY, conforming
from tests.evidence.made import evidence, manifest_with, report_in, wrong

pytestmark = pytest.mark.slow

FERNHILL = "fernhill-guesthouse"
"""A site whose routers say when they were read."""
RECENT = TODAY - timedelta(days=5)


class Later(date):
    """A calendar that is years ahead."""

    @classmethod
    def today(cls) -> Later:
        return cls(2031, 1, 1)


@pytest.mark.parametrize("options", [{}, {"occasion": "acceptance"}, {"max_age": None}, {"max_age": 2}])
def test_the_report_comes_again_years_later_and_without_the_files(
    options: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    site = conforming(FERNHILL)
    for name, data in site.files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
        noon = 43200 + 86400 * (RECENT - date(1970, 1, 1)).days
        os.utime(path, (noon, noon))
    recorded = Recorded(site.plan, SavedCaptures(tmp_path))
    report = audit(site.plan, recorded, today=TODAY, environment=PASSPHRASES, **options)  # type: ignore[arg-type]
    assert {device.captured.by for device in report.devices if device.captured} == {"text", "file"}
    assert report.complete is ("occasion" not in options and options.get("max_age", 40) != 2)
    made = evidence_of(recorded, report, {form: form.render(view_of(report)) for form in FORMATS[:3]}, PASSPHRASES)
    for path in tmp_path.rglob("*.*"):
        path.unlink()
    monkeypatch.setattr(auditing, "date", Later)
    found = verify(made, PASSPHRASES)
    assert (found.exit_code, wrong(found)) == (0, [])


@pytest.mark.parametrize("source", ["record", "stated", "file"])
def test_days_are_held_as_they_were_found(source: str):
    days = {device: Days(**{source: RECENT}) for device in conforming(FERNHILL).plan.data.devices}  # type: ignore[arg-type]
    made = evidence(replace(conforming(FERNHILL), days=days), formats=FORMATS[:3])
    told = json.loads(unpack(made)[MANIFEST])
    assert told["max_age"] == 40
    kept = [file["days"] for device in told["devices"] for file in device["files"]]
    assert kept == [{source: RECENT.isoformat()}] * len(kept)
    assert verify(made, PASSPHRASES).exit_code == 0


@pytest.mark.parametrize(("key", "value"), [("max_age", 3), ("max_age", None), ("audited_on", "2027-06-01")])
def test_another_limit_or_day_of_audit_is_found(key: str, value: object):
    found = verify(manifest_with(evidence(conforming(FERNHILL), formats=FORMATS[:1]), **{key: value}), PASSPHRASES)
    assert found.exit_code == 1
    assert any(key in text for text in wrong(found)), wrong(found)


def test_another_day_of_a_capture_is_found():
    made = evidence(conforming(FERNHILL), formats=FORMATS[:1])
    told = json.loads(unpack(made)[MANIFEST])
    for device in told["devices"]:
        for file in device["files"]:
            file["days"] = {"record": "2026-01-01"}
    found = verify(manifest_with(made, devices=told["devices"]), PASSPHRASES)
    assert report_in(made).complete
    assert any("captured" in text for text in wrong(found))
