from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.points import CHECK_EVERY_DAYS, GROUPS, POINTS, coverage_of, next_check_due

TODAY = date(2026, 3, 16)
DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31))


def test_every_point_belongs_to_a_group_and_says_what_to_look_for_and_who_asks_for_it() -> None:
    assert {point.group for point in POINTS.values()} == set(GROUPS)
    assert all(point.words and point.look_for and point.source for point in POINTS.values())
    assert all(name == point.name and len(name) <= 40 for name, point in POINTS.items())


def test_no_point_is_of_the_co_ops_own_names() -> None:
    assert not [name for name in POINTS if name.startswith("own-")]


def test_points_stand_in_the_order_of_the_groups() -> None:
    order = list(GROUPS)
    places = [order.index(point.group) for point in POINTS.values()]
    assert places == sorted(places)


def test_a_source_says_how_good_it_is() -> None:
    standings = ("official", "secondary", "common practice, no source")
    assert not [point.name for point in POINTS.values() if not any(s in point.source for s in standings)]


def test_nothing_promises_more_than_a_look() -> None:
    said = [f"{point.words} {point.look_for}".lower().split() for point in POINTS.values()]
    assert not [words for words in said if {"safe", "safely"} & set(words)]


def test_a_car_never_looked_round_is_due_now() -> None:
    check = next_check_due(None, TODAY)
    assert (check.due_on, check.days_since, check.is_due) == (TODAY, None, True)


@pytest.mark.parametrize(
    ("last_on", "due_on", "days_since", "is_due"),
    [
        (date(2026, 3, 16), date(2026, 3, 23), 0, False),
        (date(2026, 3, 10), date(2026, 3, 17), 6, False),
        (date(2026, 3, 9), date(2026, 3, 16), 7, True),
        (date(2026, 2, 28), date(2026, 3, 7), 16, True),
    ],
)
def test_a_car_is_looked_round_every_week(last_on: date, due_on: date, days_since: int, is_due: bool) -> None:
    assert next_check_due(last_on, TODAY) == (due_on, days_since, is_due)


@given(last_on=DAYS, since=st.integers(0, 400))
def test_a_check_is_due_from_its_seventh_day_on(last_on: date, since: int) -> None:
    check = next_check_due(last_on, last_on + timedelta(days=since))
    assert check.is_due == (since >= CHECK_EVERY_DAYS)
    assert (check.days_since, check.due_on) == (since, last_on + timedelta(days=7))


def test_all_of_the_list_leaves_nothing_out() -> None:
    coverage = coverage_of([*POINTS, "own-1"])
    assert coverage == (len(POINTS), len(POINTS), 1, tuple(GROUPS), ())


def test_a_check_in_part_names_what_it_left_out() -> None:
    names = [name for name, point in POINTS.items() if point.group in {"fluids", "tuition"}]
    coverage = coverage_of([*names[1:], "horn"])
    assert coverage.whole_groups == ("tuition",)
    assert coverage.seen_count == len(names)
    assert names[0] in {point.name for point in coverage.left_out}
    assert "horn" not in {point.name for point in coverage.left_out}


@given(names=st.lists(st.sampled_from([*POINTS, "own-1", "own-2"])))
def test_seen_and_left_out_are_the_whole_list_and_repeats_count_once(names: list[str]) -> None:
    coverage = coverage_of(names)
    assert coverage.seen_count + len(coverage.left_out) == coverage.list_count == len(POINTS)
    assert coverage.seen_count + coverage.own_count == len(set(names))
