"""Evidence holds of which day its captures are, and the limit: its report comes again on any later day."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from auditor.app import auditing
from auditor.app.auditing import audit
from auditor.app.verifying import verify
from auditor.capture.files import SavedCaptures
from auditor.core.days import Days
from auditor.evidence import Recorded, evidence_of
from auditor.evidence.archive import unpack
from auditor.evidence.manifest import MANIFEST
from auditor.reports import FORMATS
from tests.compare.site import PASSPHRASES, TODAY, conforming
from tests.evidence.made import QUARRY, evidence, manifest_changed, manifest_with, rendered, report_in, wrong

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
    made = evidence_of(recorded, report, rendered(report, FORMATS[:3]), PASSPHRASES)
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
    days_of_text = [
        source != "record" and "text" in capture.days
        for device in report_in(made).devices
        for capture in device.captures
    ]
    assert kept == [{} if text else {source: RECENT.isoformat()} for text in days_of_text]
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


OLD, NEXT = date(1999, 1, 1), RECENT + timedelta(days=1)


@pytest.mark.parametrize(
    "days",
    [
        Days(record=RECENT, stated=NEXT, file=NEXT),
        Days(record=OLD, stated=RECENT, file=NEXT),
        Days(record=OLD, stated=OLD, file=RECENT),
        Days(record=OLD, stated=OLD),
    ],
)
def test_no_day_of_any_file_can_be_changed_added_or_taken_away(days: Days):
    """Whether it decides or not, and of whichever file of a device: what nobody looked at is not kept."""
    site = conforming(QUARRY)
    made = evidence(replace(site, days=dict.fromkeys(site.plan.data.devices, days)), formats=FORMATS[:1])
    assert verify(made, PASSPHRASES).exit_code == 0
    told = json.loads(unpack(made)[MANIFEST])
    (last,) = [len(device["files"]) - 1 for device in told["devices"] if device["name"] == "core1"]
    assert last > 0

    def forged(source: str, day: str | None) -> bytes:
        def change(manifest: Any) -> None:
            file = next(device for device in manifest["devices"] if device["name"] == "core1")["files"][last]
            file["days"] = {**file["days"], source: day}
            if day is None:
                del file["days"][source]

        return manifest_changed(made, change)

    kept = next(device for device in told["devices"] if device["name"] == "core1")["files"][last]["days"]
    changes = [(source, day) for source in ("record", "stated", "file") for day in ("2026-11-24", "1998-12-31")]
    for source, day in [*changes, *((source, None) for source in kept)]:
        assert verify(forged(source, day), PASSPHRASES).exit_code == 1, (source, day, kept)
