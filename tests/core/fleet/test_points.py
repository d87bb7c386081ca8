from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.points import (
    CHECK_EVERY_DAYS,
    GROUPS,
    POINTS,
    Build,
    Point,
    coverage_of,
    next_check_due,
    next_step,
    points_for,
    steps_of_walk,
)

TODAY = date(2026, 3, 16)
DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31))
MANUAL_PETROL = Build("petrol", "manual", dual_controls=True, soft_top=False)
AUTOMATIC_ELECTRIC = Build("electric", "automatic", dual_controls=True, soft_top=False)
BUILDS = st.builds(
    Build,
    st.sampled_from(["petrol", "diesel", "hybrid", "plugin_hybrid", "electric"]),
    st.sampled_from(["manual", "automatic"]),
    st.booleans(),
    st.booleans(),
)


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


def asked_of(build: Build) -> set[str]:
    return {point.name for point in points_for(build)}


def test_what_an_electric_automatic_is_not_asked_for() -> None:
    assert asked_of(MANUAL_PETROL) - asked_of(AUTOMATIC_ELECTRIC) == {"engine_oil", "bodywork", "clutch"}
    assert asked_of(AUTOMATIC_ELECTRIC) - asked_of(MANUAL_PETROL) == {"body", "charging", "selector"}


@pytest.mark.parametrize(
    ("build", "more", "less"),
    [
        (MANUAL_PETROL._replace(fuel="plugin_hybrid"), {"charging"}, set()),
        (MANUAL_PETROL._replace(fuel="hybrid"), set(), set()),
        (MANUAL_PETROL._replace(fuel="diesel"), set(), set()),
        (MANUAL_PETROL._replace(transmission="automatic"), {"selector"}, {"clutch"}),
        (MANUAL_PETROL._replace(dual_controls=False), set(), {"dual_pedals"}),
        (MANUAL_PETROL._replace(soft_top=True), {"soft_top"}, set()),
    ],
)
def test_points_follow_from_what_a_car_is(build: Build, more: set[str], less: set[str]) -> None:
    usual = asked_of(MANUAL_PETROL)
    assert (asked_of(build) - usual, usual - asked_of(build)) == (more, less)


def test_every_point_is_asked_of_some_car_and_no_car_is_asked_for_all() -> None:
    cars = [
        Build(fuel, transmission, dual_controls=True, soft_top=True)
        for fuel in ("petrol", "electric", "plugin_hybrid")
        for transmission in ("manual", "automatic")
    ]
    assert set.union(*map(asked_of, cars)) == set(POINTS)
    assert all(asked_of(build) < set(POINTS) for build in cars)


@given(build=BUILDS)
def test_every_car_has_every_group(build: Build) -> None:
    assert [step.group for step in steps_of_walk(points_for(build), ())] == list(GROUPS)


def test_all_of_the_list_leaves_nothing_out() -> None:
    names = [point.name for point in points_for(MANUAL_PETROL)]
    assert coverage_of([*names, "own-1"], MANUAL_PETROL) == (26, 26, 1, tuple(GROUPS), ())


def test_a_check_in_part_names_what_it_left_out() -> None:
    names = [point.name for point in points_for(MANUAL_PETROL) if point.group in {"fluids", "tuition"}]
    coverage = coverage_of([*names[1:], "horn"], MANUAL_PETROL)
    assert coverage.whole_groups == ("tuition",)
    assert coverage.seen_count == len(names)
    assert names[0] in {point.name for point in coverage.left_out}
    assert "horn" not in {point.name for point in coverage.left_out}


def test_what_does_not_apply_is_neither_seen_nor_left_out() -> None:
    asked = asked_of(AUTOMATIC_ELECTRIC)
    coverage = coverage_of([*asked, "engine_oil", "clutch"], AUTOMATIC_ELECTRIC)
    assert (coverage.seen_count, coverage.list_count, coverage.own_count) == (len(asked), len(asked), 0)
    assert coverage.left_out == ()


@given(names=st.lists(st.sampled_from([*POINTS, "own-1", "own-2"])), build=BUILDS)
def test_seen_and_left_out_are_the_whole_list_and_repeats_count_once(names: list[str], build: Build) -> None:
    coverage = coverage_of(names, build)
    asked = asked_of(build)
    assert coverage.seen_count + len(coverage.left_out) == coverage.list_count == len(asked)
    assert coverage.seen_count == len(asked & set(names))
    assert coverage.own_count == len({"own-1", "own-2"} & set(names))


def test_the_walk_goes_on_with_the_first_group_that_lacks_a_look() -> None:
    points = points_for(MANUAL_PETROL)
    outside = [point.name for point in points if point.group == "outside"]
    steps = steps_of_walk(points, outside)
    assert [(step.title, len(step.points), step.is_done) for step in steps] == [
        ("Round the outside", 8, True),
        ("Under the bonnet", 5, False),
        ("At the wheel", 8, False),
        ("For tuition", 5, False),
    ]
    step = next_step(steps)
    assert step is not None
    assert step.group == "fluids"
    assert next_step(steps_of_walk(points, [point.name for point in points])) is None


def test_a_point_of_the_co_op_that_was_not_looked_at_opens_its_group_again() -> None:
    sign = Point("own-1", "outside", "Roof sign", "Fixed.", "added by the co-op")
    points = [*points_for(MANUAL_PETROL), sign]
    step = next_step(steps_of_walk(points, [point.name for point in points[:-1]]))
    assert step is not None
    assert (step.group, step.points[-1], step.is_done) == ("outside", sign, False)


@given(build=BUILDS, data=st.data())
def test_a_walk_in_any_order_ends_once_each_group_was_looked_at(build: Build, data: st.DataObject) -> None:
    points = points_for(build)
    looked_at: set[str] = set()
    for group in data.draw(st.permutations(list(GROUPS))):
        assert next_step(steps_of_walk(points, looked_at)) is not None
        looked_at |= {point.name for point in points if point.group == group}
    assert next_step(steps_of_walk(points, looked_at)) is None
