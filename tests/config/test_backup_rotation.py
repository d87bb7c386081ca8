"""Which backups are kept: 7 days, 4 weeks, 12 months, worked by hand and over any run of days."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from config.backup.nightly import to_keep

TODAY = date(2026, 3, 18)  # a Wednesday
DAYS = st.sets(st.dates(date(2024, 1, 1), date(2027, 12, 31)), max_size=80)


def test_after_two_years_of_nights_these_are_there() -> None:
    kept = to_keep(TODAY - timedelta(days=back) for back in range(730))
    days = {date(2026, 3, day) for day in range(12, 19)}
    # Each Sunday; the week that has begun has its newest above.
    weeks = {date(2026, 3, 15), date(2026, 3, 8), date(2026, 3, 1)}
    ends = [(2026, 2, 28), (2026, 1, 31), (2025, 12, 31), (2025, 11, 30), (2025, 10, 31), (2025, 9, 30), (2025, 8, 31)]
    ends += [(2025, 7, 31), (2025, 6, 30), (2025, 5, 31), (2025, 4, 30)]
    assert kept == days | weeks | {date(*end) for end in ends}


def test_a_machine_that_was_off_for_a_year_loses_none_of_what_it_has() -> None:
    old = {date(2024, 12, 24) + timedelta(days=day) for day in range(7)}
    assert to_keep(old | {TODAY}) >= {TODAY, max(old)}
    assert len(to_keep(old | {TODAY})) == 7


@given(DAYS)
def test_the_newest_seven_are_kept_and_few_besides(days: set[date]) -> None:
    kept = to_keep(days)
    assert set(sorted(days)[-7:]) <= kept <= days
    assert len(kept) <= 7 + 4 + 12


@given(DAYS, st.data())
def test_thinning_each_night_keeps_what_thinning_once_would(days: set[date], data: st.DataObject) -> None:
    there: set[date] = set()
    for day in sorted(days):
        there = to_keep(there | {day})
    assert there == to_keep(days)
