"""What an MOT history tells, each example worked out by hand."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.mot_history import (
    Fall,
    Jump,
    MotHistory,
    MotTest,
    Reading,
    Returned,
    Uncovered,
    mot_history,
)


def passed(on: str, miles: int | None = None, *advisories: str) -> MotTest:
    return MotTest(date.fromisoformat(on), True, miles, advisories)


def failed(on: str, miles: int | None = None, *advisories: str) -> MotTest:
    return MotTest(date.fromisoformat(on), False, miles, advisories)


def history(*tests: MotTest, registered: str | None = None, nation: str = "GB") -> MotHistory:
    return mot_history(tests, date.fromisoformat(registered) if registered else None, nation)


STEADY = [
    passed("2021-06-01", 30_000),
    passed("2022-06-01", 40_000),
    passed("2023-06-01", 50_000),
    passed("2024-06-01", 60_000),
]


def test_no_rows_tell_nothing() -> None:
    assert history(registered="2015-01-01") == MotHistory()


def test_a_steady_history_has_nothing_to_tell_but_when_it_runs_out() -> None:
    # A pass on 1 June 2024 lasts to 31 May 2025, or with a month carried over to 1 July 2025.
    assert history(*STEADY) == MotHistory(runs_out=(date(2025, 5, 31), date(2025, 7, 1)))


def test_rows_may_come_newest_first() -> None:
    assert history(*reversed(STEADY)) == history(*STEADY)


# --- Mileage ---------------------------------------------------------------------------------------------------------


def test_a_mileage_that_falls_is_told_with_both_rows() -> None:
    found = history(*STEADY, passed("2025-06-01", 48_000))
    assert found.falls == (Fall(Reading(date(2024, 6, 1), 60_000), Reading(date(2025, 6, 1), 48_000)),)


def test_the_same_mileage_twice_is_no_fall() -> None:
    assert not history(failed("2024-06-01", 60_000), passed("2024-06-08", 60_000)).falls


def test_of_two_tests_on_one_day_the_higher_mileage_counts() -> None:
    rows = [failed("2024-06-01", 60_002), passed("2024-06-01", 60_000), passed("2025-05-30", 60_001)]
    assert history(*rows).falls == (Fall(Reading(date(2024, 6, 1), 60_002), Reading(date(2025, 5, 30), 60_001)),)


def test_a_mileage_that_jumps_is_told_with_the_usual_pace() -> None:
    # 10,000 miles in each of three years (one of them with 366 days), then 35,000.
    found = history(*STEADY, passed("2025-06-01", 95_000))
    assert found.jumps == (Jump(Reading(date(2024, 6, 1), 60_000), Reading(date(2025, 6, 1), 95_000), 10_000),)
    assert not found.falls


@pytest.mark.parametrize(("miles", "jumps"), [(80_000, 0), (80_001, 1)])
def test_twice_the_usual_pace_is_not_yet_a_jump(miles: int, jumps: int) -> None:
    assert len(history(*STEADY, passed("2025-06-01", miles)).jumps) == jumps


@pytest.mark.parametrize(("miles", "jumps"), [(12_000, 0), (12_001, 1)])
def test_a_car_that_hardly_runs_may_run_five_thousand_miles_more(miles: int, jumps: int) -> None:
    slow = [passed("2022-06-01", 1_000), passed("2023-06-01", 3_000), passed("2024-05-31", 5_000)]
    assert len(history(*slow, passed("2025-05-31", miles)).jumps) == jumps


def test_a_digit_too_many_at_a_retest_is_a_jump_and_then_a_fall() -> None:
    rows = [*STEADY, failed("2025-05-20", 69_500), passed("2025-05-28", 96_500), passed("2026-05-20", 79_000)]
    found = history(*rows)
    # Of 27.40, 27.40, 27.32 and 26.91 miles a day the middle is 27.36: 9,986 a year.
    assert found.jumps == (Jump(Reading(date(2025, 5, 20), 69_500), Reading(date(2025, 5, 28), 96_500), 9_986),)
    assert [fall.after.miles for fall in found.falls] == [79_000]


def test_a_retest_gives_no_pace() -> None:
    # 2,000 miles in 8 days are far above the usual pace, but fewer than 5,000 too many; and they raise it for no other.
    rows = [*STEADY[:3], failed("2024-06-01", 60_000), passed("2024-06-09", 62_000)]
    assert not history(*rows).jumps


def test_without_two_other_times_nothing_is_usual() -> None:
    assert not history(*STEADY[:2], passed("2023-06-01", 140_000)).jumps
    assert history(*STEADY[:3], passed("2024-06-01", 140_000)).jumps


def test_of_an_even_number_of_paces_the_middle_is_half_way() -> None:
    # 10,000 and 20,000 in 365 days each: the usual is 15,000, and 30,001 more than twice that.
    rows = [passed("2021-06-01", 0), passed("2022-06-01", 10_000), passed("2023-06-01", 30_000)]
    assert not history(*rows, passed("2024-05-31", 60_000)).jumps
    assert [jump.usual for jump in history(*rows, passed("2024-05-31", 60_001)).jumps] == [15_000]


def test_rows_without_a_mileage_are_passed_over() -> None:
    rows = [*STEADY[:2], passed("2023-06-01"), STEADY[3]]
    assert (history(*rows).falls, history(*rows).jumps) == ((), ())


def test_ninety_days_are_a_pace_and_fewer_are_not() -> None:
    # Others of the last step: 365 days, and 90 (100 a day) or 89.
    rows = [passed("2021-06-01", 0), passed("2022-06-01", 3_650)]
    with_90 = [*rows, passed("2022-08-30", 4_550), passed("2023-08-30", 44_000)]
    with_89 = [*rows, passed("2022-08-29", 4_550), passed("2023-08-30", 44_000)]
    assert (len(history(*with_90).jumps), len(history(*with_89).jumps)) == (1, 0)


# --- Days without a pass --------------------------------------------------------------------------------------------


def test_thirteen_months_between_passes_may_be_covered() -> None:
    assert not history(passed("2023-06-01"), passed("2024-07-02")).uncovered
    found = history(passed("2023-06-01"), passed("2024-07-03")).uncovered
    assert found == (Uncovered(date(2024, 7, 2), date(2024, 7, 2)),)


def test_a_year_that_is_missing_is_told() -> None:
    found = history(STEADY[0], STEADY[1], STEADY[3]).uncovered
    assert found == (Uncovered(date(2023, 7, 2), date(2024, 5, 31)),)


def test_a_failure_covers_nothing() -> None:
    found = history(passed("2022-06-01"), failed("2023-06-01"), passed("2024-06-01")).uncovered
    assert found == (Uncovered(date(2023, 7, 2), date(2024, 5, 31)),)


@pytest.mark.parametrize(
    ("nation", "uncovered"),
    [("GB", (Uncovered(date(2021, 5, 1), date(2021, 5, 31), first_needed=True),)), ("NI", ())],
)
def test_the_first_mot_is_needed_by_the_nations_rule(nation: str, uncovered: tuple[Uncovered, ...]) -> None:
    assert history(*STEADY, registered="2018-05-01", nation=nation).uncovered == uncovered


def test_a_first_pass_on_its_day_leaves_nothing_uncovered() -> None:
    assert not history(*STEADY, registered="2018-06-01").uncovered


def test_without_a_pass_nothing_is_said_of_covered_days() -> None:
    found = history(failed("2024-06-01"), registered="2018-05-01")
    assert (found.uncovered, found.runs_out, found.failed_last) == ((), None, date(2024, 6, 1))


def test_a_failure_after_the_last_pass_is_told_with_when_that_runs_out() -> None:
    found = history(passed("2024-06-01"), failed("2025-05-20"))
    assert found.failed_last == date(2025, 5, 20)
    assert found.runs_out == (date(2025, 5, 31), date(2025, 7, 1))


def test_a_pass_on_the_day_of_a_failure_is_the_last_word() -> None:
    assert history(passed("2025-05-20"), failed("2025-05-20")).failed_last is None


# --- Advisories ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Oil leak", "Oil leak"),
        ("oil leak", "OIL LEAK."),
        ("Front brake disc worn, pitted or scored (1.1.14 (a) (ii))", "Front brake discs worn, pitted"),
        ("Brake pipe corroded, covered in grease", "Brake pipe corroded"),
        ("Nearside front tyre worn close to legal limit", "Tyre worn close to the legal limit"),
        ("Loss of pressure", "loss of pressure"),
    ],
)
def test_an_advisory_in_the_same_words_or_nearly_has_returned(first: str, second: str) -> None:
    found = history(passed("2023-06-01", None, first), passed("2024-06-01", None, second)).returned
    assert found == (Returned(second, (date(2023, 6, 1), date(2024, 6, 1))),)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Nearside front tyre worn close to legal limit", "Offside front tyre worn close to legal limit"),
        ("Coil spring corroded", "Coil spring fractured"),
        ("Oil leak", "Exhaust noisy"),
        ("5.2.3", "5.2.4"),
        ("Front", "Front"),
        ("Loss of pressure", "Lo of pressure"),
    ],
)
def test_another_place_or_another_thing_is_no_return(first: str, second: str) -> None:
    assert not history(passed("2023-06-01", None, first), passed("2024-06-01", None, second)).returned


def test_twice_at_one_test_or_on_one_day_is_no_return() -> None:
    rows = [failed("2024-06-01", None, "Oil leak", "Oil leak"), passed("2024-06-01", None, "Oil leak")]
    assert not history(*rows).returned


def test_what_returned_comes_in_the_order_of_its_first_day() -> None:
    rows = [
        passed("2022-06-01", None, "Oil leak"),
        failed("2023-06-01", None, "Exhaust noisy", "Oil leak, slight"),
        passed("2024-06-01", None, "Slight oil leak", "Exhaust noisy"),
        passed("2025-06-01", None, "Wiper blade split"),
    ]
    assert [(one.words, len(one.days)) for one in history(*rows).returned] == [
        ("Slight oil leak", 3),
        ("Exhaust noisy", 2),
    ]


# --- Whatever is typed -----------------------------------------------------------------------------------------------

rows_typed = st.lists(
    st.builds(
        MotTest,
        st.dates(date(2015, 1, 1), date(2026, 12, 31)),
        st.booleans(),
        st.none() | st.integers(0, 999_999),
        st.lists(st.sampled_from(["Oil leak", "front tyre worn", "", "£", "Ölleck"]), max_size=3).map(tuple),
    ),
    max_size=12,
)


@given(rows_typed, st.none() | st.dates(date(2010, 1, 1), date(2026, 12, 31)), st.sampled_from(["GB", "NI"]))
def test_what_is_found_lies_within_what_was_typed(tests: list[MotTest], registered: date | None, nation: str) -> None:
    found = mot_history(tests, registered, nation)
    days = {test.tested_on for test in tests}
    for step in (*found.falls, *found.jumps):
        assert {step.before.read_on, step.after.read_on} <= days
    assert all(fall.after.miles < fall.before.miles for fall in found.falls)
    assert all(jump.after.miles > jump.before.miles for jump in found.jumps)
    assert all(gap.first <= gap.last < max(days) for gap in found.uncovered)
    assert all(len(one.days) > 1 and set(one.days) <= days for one in found.returned)
    assert mot_history(tests[::-1], registered, nation)[:4:2] == found[:4:2]
