"""Which runs are kept: all of two years, then the last of each month; first, last and acceptance always."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from auditor.history import History
from auditor.history.retention import DatedRun, dropped
from tests.history.made import at, found, report
from tests.history.test_store import rows

TODAY = date(2026, 11, 25)


def left(*days: date | tuple[date, str]) -> list[date]:
    """Return the days of the runs that are kept."""
    runs = [
        DatedRun(number, *(day if isinstance(day, tuple) else (day, "routine")))
        for number, day in enumerate(days, start=1)
    ]
    gone = dropped(runs, TODAY)
    return [run.day for run in runs if run.id not in gone]


def test_nothing_of_the_last_24_months_is_dropped():
    days = [TODAY - timedelta(days=number) for number in range(730, -1, -1)]
    assert left(*days) == days


def test_the_day_of_24_months_ago_is_kept_and_the_one_before_is_not():
    first, edge = date(2020, 1, 1), date(2024, 11, 25)
    later = date(2024, 11, 30)
    assert left(first, edge, later, TODAY) == [first, edge, later, TODAY]
    assert left(first, edge - timedelta(days=1), later, TODAY) == [first, later, TODAY]


def test_of_older_months_the_last_is_kept():
    days = [date(2023, 3, 1), date(2023, 3, 9), date(2023, 3, 30), date(2023, 4, 2), date(2023, 4, 3), TODAY]
    assert left(*days) == [date(2023, 3, 1), date(2023, 3, 30), date(2023, 4, 3), TODAY]


def test_the_last_of_a_month_is_the_last_that_was_added():
    same = date(2023, 3, 9)
    runs = [
        DatedRun(1, date(2022, 1, 1), "routine"),
        DatedRun(2, same, "routine"),
        DatedRun(3, same, "routine"),
        DatedRun(4, TODAY, "routine"),
    ]
    assert dropped(runs, TODAY) == [2]


def test_acceptance_is_kept_for_ever():
    old = date(2019, 5, 6)
    assert left(date(2019, 1, 1), (old, "acceptance"), old + timedelta(days=1), TODAY) == [
        date(2019, 1, 1), old, old + timedelta(days=1), TODAY,
    ]  # fmt: skip


def test_a_leap_day_is_a_day():
    assert dropped([DatedRun(1, date(2024, 2, 28), "routine")], date(2024, 2, 29)) == []


def test_a_site_that_was_not_audited_for_years_keeps_its_last():
    assert left(date(2015, 1, 1), date(2015, 1, 2)) == [date(2015, 1, 1), date(2015, 1, 2)]


DAYS = st.lists(st.dates(date(2015, 1, 1), TODAY), min_size=1, max_size=80).map(sorted)


@given(DAYS)
def test_first_and_last_stay_every_month_has_one_and_it_is_done_once(days: list[date]):
    kept = left(*days)
    assert (kept[0], kept[-1]) == (days[0], days[-1])
    assert {(day.year, day.month) for day in kept} == {(day.year, day.month) for day in days}
    assert left(*kept) == kept
    assert [day for day in kept if day >= date(2024, 11, 25)] == [day for day in days if day >= date(2024, 11, 25)]


def test_it_is_applied_when_a_run_is_added_and_takes_along_what_nothing_refers_to(tmp_path: Path):
    path = tmp_path / "history.sqlite"
    days = [date(2020, 1, 1), date(2020, 2, 3), date(2020, 2, 4), TODAY]
    with History.begin(path, at(TODAY)) as history:
        for number, day in enumerate(days):
            history.add(
                report(
                    day, [found(f"vlans.{number}"), found("vlans.99")], plan=f"{number:064x}", capture=f"{number:064x}"
                ),
                at(day),
            )
        kept = [run.day for run in history.of("", "MLS-01").runs]
        since = history.of("", "MLS-01").since
    assert kept == [TODAY, date(2020, 2, 4), date(2020, 1, 1)]
    assert {row[0] for row in rows(path, "SELECT setting FROM finding")} == {
        "vlans.0",
        "vlans.2",
        "vlans.3",
        "vlans.99",
    }
    assert rows(path, "SELECT count(*) FROM plan") == [(3,)]
    assert rows(path, "SELECT count(*) FROM device") == rows(path, "SELECT count(*) FROM capture") == [(9,)]
    assert since
    assert {t.setting: t.since for t in since.findings}["vlans.99"] == date(2020, 1, 1)
