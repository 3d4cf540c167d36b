"""What is known of the day of a saved capture: its record, the word of whoever asks, the time of its files."""

from __future__ import annotations

import json
import os
import time
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from auditor.capture.files import SavedCaptures, read_files
from auditor.capture.interface import Captured
from auditor.capture.saving import RECORD, CaptureRecord, as_json, save
from auditor.core.days import Days
from auditor.reading.source import CaptureFile
from tests.capture.test_faults import ANSWERS, way_to
from tests.lab.shells import Shell, lab

TEXT = b"hostname sw1\nend\n"
DAY = date(2026, 11, 20)


def record(ended: datetime) -> CaptureRecord:
    return CaptureRecord("sw1", "10.0.0.2", "cisco_ios", ("show running-config",), ended, ended)


def on(path: Path, day: date) -> Path:
    """Give a file the time of noon of a day, here."""
    noon = datetime(day.year, day.month, day.day, 12).astimezone().timestamp()
    os.utime(path, (noon, noon))
    return path


def saved(folder: Path, ended: datetime | None = None) -> Path:
    """Save a capture whose file is of DAY, with a record where it says when the capture ended."""
    if ended:
        save(folder, record(ended), [CaptureFile("sw1/show_running-config.txt", TEXT)])
        return on(folder / "sw1" / "show_running-config.txt", DAY)
    (folder / "sw1.cfg").write_bytes(TEXT)
    return on(folder / "sw1.cfg", DAY)


def days_of(folder: Path, stated: date | None = None) -> tuple[Days, ...]:
    found = SavedCaptures(folder, stated).capture("sw1")
    assert isinstance(found, Captured)
    return found.days


def test_a_file_has_the_day_of_its_time(tmp_path: Path):
    saved(tmp_path)
    assert days_of(tmp_path) == (Days(file=DAY),)
    assert days_of(tmp_path, date(2026, 11, 1)) == (Days(stated=date(2026, 11, 1), file=DAY),)


def test_each_file_of_a_device_has_its_own(tmp_path: Path):
    saved(tmp_path)
    (tmp_path / "sw1").mkdir()
    (tmp_path / "sw1" / "show_vlan_brief.txt").write_bytes(b"VLAN Name\n")
    on(tmp_path / "sw1" / "show_vlan_brief.txt", date(2025, 1, 1))
    assert days_of(tmp_path) == (Days(file=DAY), Days(file=date(2025, 1, 1)))


@pytest.mark.parametrize(
    ("ended", "day"),
    [
        (datetime(2026, 11, 18, 9, 30, tzinfo=UTC), date(2026, 11, 18)),
        # half an hour before midnight there: the day is that of the place, whatever UTC has
        (datetime(2026, 11, 18, 23, 30, tzinfo=timezone(timedelta(hours=-8))), date(2026, 11, 18)),
        (datetime(2026, 11, 19, 0, 30, tzinfo=timezone(timedelta(hours=13))), date(2026, 11, 19)),
    ],
)
def test_a_record_has_the_day_of_the_place_where_it_was_made(ended: datetime, day: date, tmp_path: Path):
    saved(tmp_path, ended)
    assert days_of(tmp_path) == (Days(record=day, file=DAY),)


def test_a_record_without_an_end_has_the_day_on_which_it_began(tmp_path: Path):
    saved(tmp_path, datetime(2026, 11, 18, tzinfo=UTC))
    path = tmp_path / "sw1" / RECORD
    path.write_text(path.read_text().replace('"ended"', '"ends"'))
    assert days_of(tmp_path)[0].record == date(2026, 11, 18)


def test_a_record_says_nothing_of_a_text_that_was_changed_or_put_there_since(tmp_path: Path):
    file = saved(tmp_path, datetime(2026, 11, 18, tzinfo=UTC))
    for path, text in ((file, b"hostname sw2\nend\n"), (file.with_name("show_vlan_brief.txt"), b"VLAN Name\n")):
        path.write_bytes(text)
        on(path, DAY)
    found = SavedCaptures(tmp_path).capture("sw1")
    assert isinstance(found, Captured)
    assert found.days == (Days(file=DAY), Days(file=DAY))
    assert found.notes == (
        "sw1/show_running-config.txt was changed after it was captured, so capture.json does not tell its day",
    )


def test_a_record_in_the_folder_of_a_device_holds_for_its_file_beside_that_folder(tmp_path: Path):
    saved(tmp_path)
    (tmp_path / "sw1").mkdir()
    ended = datetime(2026, 11, 18, tzinfo=UTC)
    (tmp_path / "sw1" / RECORD).write_bytes(as_json(record(ended), [CaptureFile("sw1.cfg", TEXT)]))
    assert days_of(tmp_path) == (Days(record=date(2026, 11, 18), file=DAY),)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        '{"format": "auditor-capture/1", "ended": "yesterday", "files": []}',
        '{"format": "auditor-capture/1", "ended": 7, "files": []}',
        '{"format": "auditor-capture/1", "ended": "2026-11-18T09:00:00+00:00", "files": [{"file": "sw1.cfg"}]}',
        '{"format": "other", "ended": "2026-11-18T09:00:00+00:00", "files": []}',
    ],
)
def test_a_record_that_is_none_says_nothing(text: str, tmp_path: Path):
    saved(tmp_path)
    (tmp_path / "sw1").mkdir()
    (tmp_path / "sw1" / RECORD).write_text(text)
    assert days_of(tmp_path) == (Days(file=DAY),)


def test_a_time_that_no_calendar_has_is_no_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    found = saved(tmp_path).stat()
    far = os.stat_result((*found[:8], 2**50, *found[9:]))
    monkeypatch.setattr(Path, "stat", lambda *_, **__: far)
    assert read_files([tmp_path / "sw1.cfg"]).days == (Days(),)


@pytest.mark.parametrize(("zone", "hours"), [("EAST-13", 13), ("WEST+11", -11)])
def test_a_live_capture_has_the_day_of_the_place_where_it_is_made(
    zone: str, hours: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        with lab() as devices:
            told = way_to(devices, Shell(answers=ANSWERS), tmp_path)
            captured = told.read()
    finally:
        monkeypatch.undo()
        time.tzset()
    assert isinstance(captured, Captured)
    (result,) = told.told
    assert result.record is not None
    assert result.record.ended.utcoffset() == timedelta(hours=hours)
    assert captured.days == (Days(record=result.record.ended.date()),) * len(captured.files)


def test_files_that_are_read_alone_have_their_days_too(tmp_path: Path):
    file = saved(tmp_path, datetime(2026, 11, 18, tzinfo=UTC))
    assert read_files([file]).days == (Days(record=date(2026, 11, 18), file=DAY),)


def test_a_record_that_is_a_pipe_or_nested_without_end_says_nothing(tmp_path: Path):
    saved(tmp_path, datetime(2026, 11, 18, tzinfo=UTC))
    place = tmp_path / "sw1" / RECORD
    for make in (lambda: os.mkfifo(place), lambda: place.write_text("[" * 100_000)):
        place.unlink()
        make()
        assert days_of(tmp_path) == (Days(file=DAY),)


OTHERS = {
    "device": ("gw1", "it is of gw1, not of sw1"),
    "platform": ("vyos", "it is of the platform vyos, and the plan has cisco_ios"),
    "address": ("10.0.0.9", "it is of the device at 10.0.0.9, and the plan has 10.0.0.2"),
    "nobody's": (None, "it is of no device, not of sw1"),
}


@pytest.mark.parametrize(("key", "value", "why"), [(key, *other) for key, other in OTHERS.items()], ids=list(OTHERS))
def test_a_record_of_another_device_does_not_count(key: str, value: str | None, why: str, tmp_path: Path):
    found = read_with(tmp_path, {key: value} if value else {"device": ""})
    assert found.days == (Days(file=DAY),)
    assert found.notes == (f"capture.json is not the record of sw1 ({why}), and does not count: read sw1 again",)


def read_with(folder: Path, told: dict[str, object]) -> Captured:
    """Return what is saved of the switch, as that of the plan's switch, where its record says something else."""
    saved(folder, datetime(2026, 11, 18, tzinfo=UTC))
    path = folder / "sw1" / RECORD
    path.write_text(json.dumps({**json.loads(path.read_text()), "notes": ["by night"], **told}))
    found = SavedCaptures(folder).capture("sw1")
    assert isinstance(found, Captured)
    return found.of("sw1", "10.0.0.2", "cisco_ios")


def test_a_record_of_the_device_counts_and_a_host_of_another_name_is_noted(tmp_path: Path):
    assert read_with(tmp_path / "a", {}).notes == ("by night",)
    found = read_with(tmp_path / "b", {"reached": {"host": "203.0.113.9", "port": 22, "jump_hosts": []}})
    assert found.days == (Days(record=date(2026, 11, 18), file=DAY),)
    assert found.notes[1:] == ("it was read at 203.0.113.9, and the plan has 10.0.0.2",)
