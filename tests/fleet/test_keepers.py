"""Who keeps a car from which day to which, as handovers write it."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.actions import end_time, hand_over
from fleet.models import Car, KeeperTime
from fleet.queries import (
    Keepership,
    ended_by,
    has_had,
    has_kept,
    keepers_since,
    keeperships_of,
    keeperships_of_cars,
    refused_day,
    took_over_on,
)
from instructors.models import Member
from tests.factories import OdometerReadingFactory
from tests.fleet.keepers import acts, hand_on, pass_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
START, FIRST, BACK = date(2024, 1, 8), date(2026, 1, 12), date(2026, 2, 16)
DAY = timedelta(days=1)


def test_a_car_that_was_never_handed_over_is_its_keepers_for_all_days(car: Car, keeper: Member) -> None:
    assert keeperships_of(car) == [(keeper.pk, None, None)]
    assert (took_over_on(car), has_kept(car, keeper, date(1999, 1, 1))) == (None, True)


def test_the_day_of_a_handover_is_the_former_keepers(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, FIRST, coordinator)
    assert keeperships_of(car) == [(keeper.pk, START, FIRST), (colleague.pk, FIRST + DAY, None)]
    assert (car.keeper, took_over_on(car)) == (colleague, FIRST)
    assert [has_kept(car, colleague, FIRST + DAY * days) for days in (0, 1)] == [False, True]
    assert [has_had(car, colleague, FIRST + DAY * days) for days in (-1, 0, 1)] == [False, True, True]
    assert [refused_day(car, colleague, FIRST + DAY * days) for days in (0, 1)] == [FIRST, None]
    assert (has_kept(car, keeper, FIRST), has_kept(car, keeper, FIRST + DAY)) == (True, False)
    assert has_kept(car, keeper, START - DAY)  # before its first time it counts as its first keeper's


def test_a_loan_is_two_handovers(car: Car, keeper: Member, colleague: Member, coordinator: Member) -> None:
    hand_on(car, colleague, FIRST, coordinator)
    hand_on(car, keeper, BACK, coordinator)
    assert keeperships_of(car) == [
        (keeper.pk, START, FIRST),
        (colleague.pk, FIRST + DAY, BACK),
        (keeper.pk, BACK + DAY, None),
    ]
    assert keepers_since(car) == keepers_since(car, BACK) == sorted([keeper, colleague], key=lambda one: one.pk)
    assert keepers_since(car, BACK + DAY) == [keeper]


def test_a_car_handed_to_somebody_and_back_on_one_day_was_never_away(
    car: Car, keeper: Member, colleague: Member, stranger: Member, coordinator: Member
) -> None:
    for to in (colleague, keeper):
        hand_on(car, to, FIRST, coordinator)
    assert keeperships_of(car) == [(keeper.pk, START, None)]
    for to in (colleague, stranger):
        hand_on(car, to, BACK, coordinator)
    assert keeperships_of(car) == [(keeper.pk, START, BACK), (stranger.pk, BACK + DAY, None)]
    # The short times are in the history, with who took them back.
    assert KeeperTime.history.filter(history_type="-", history_user=coordinator).count() == 2


def test_what_is_recorded_before_the_service_lies_in_the_first_time(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2023, 12, 30), miles=21_000)
    hand_on(car, colleague, FIRST, coordinator)
    assert keeperships_of(car)[0] == (keeper.pk, date(2023, 12, 30), FIRST)


def test_a_handover_of_an_earlier_day_is_entered_later(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    for _ in range(2):
        hand_over(by=coordinator, car=car, keeper=colleague, on=FIRST, odometer=30_000)
    assert keeperships_of(car) == [(keeper.pk, START, FIRST), (colleague.pk, FIRST + DAY, None)]
    assert car.odometer_readings.get().read_on == FIRST
    with pytest.raises(ValidationError, match="Ελπίδα Καραβίδα has kept QA51 ABC since 13 January 2026"):
        hand_over(by=coordinator, car=car, keeper=keeper, on=FIRST - DAY, odometer=29_999)


def test_a_car_may_be_left_without_a_keeper_and_be_taken_on_later(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    for _ in range(2):
        end_time(by=coordinator, car=car, on=FIRST, odometer=30_000)
    car.refresh_from_db()
    assert (keeperships_of(car), car.keeper) == ([(keeper.pk, START, FIRST)], keeper)
    assert acts(field="keeper") == [("Wren Applegarth", "keeper", f"member:{keeper.pk}", "", True)]
    with pytest.raises(ValidationError, match="give that day or a later one"):
        hand_over(by=coordinator, car=car, keeper=colleague, on=FIRST - DAY, odometer=30_000)
    hand_over(by=coordinator, car=car, keeper=colleague, on=BACK, odometer=30_000)
    assert keeperships_of(car) == [(keeper.pk, START, FIRST), (colleague.pk, BACK + DAY, None)]
    assert not any(has_kept(car, one, FIRST + DAY) for one in (keeper, colleague))
    # Nobody kept it: only the taker is told.
    assert acts(field="keeper")[1:] == [("Ελπίδα Καραβίδα", "keeper", "", f"member:{colleague.pk}", True)]


def test_whoever_had_it_last_may_take_it_again(car: Car, keeper: Member, coordinator: Member) -> None:
    end_time(by=coordinator, car=car, on=FIRST, odometer=30_000)
    hand_over(by=coordinator, car=car, keeper=keeper, on=FIRST, odometer=30_000)
    assert keeperships_of(car) == [(keeper.pk, START, None)]


def test_a_car_taken_over_today_and_left_without_a_keeper_was_the_former_ones_to_the_last(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    hand_over(by=coordinator, car=car, keeper=colleague, on=BACK, odometer=30_000)
    end_time(by=coordinator, car=car, on=BACK, odometer=30_000)
    car.refresh_from_db()
    assert (keeperships_of(car), car.keeper) == ([(keeper.pk, START, BACK)], keeper)


@pytest.mark.django_db
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(moves=st.lists(st.tuples(st.integers(0, 12), st.sampled_from(["a", "b", "c", None])), max_size=8))
def test_whatever_is_handed_over_every_day_is_of_whom_it_was_last_given_to(
    car: Car, keeper: Member, colleague: Member, stranger: Member, coordinator: Member, moves: list[tuple[int, str]]
) -> None:
    """The slow road: from the day after a handover on all days are the taker's, or nobody's."""
    people = {"a": keeper, "b": colleague, "c": stranger, None: None}
    every_day = [FIRST + DAY * number for number in range(16)]
    expected = dict.fromkeys(every_day, keeper)
    KeeperTime.objects.filter(car=car).delete()
    Car.objects.filter(pk=car.pk).update(keeper=keeper)
    for number, who in sorted(moves, key=lambda move: move[0]):
        on, to = FIRST + DAY * number, people[who]
        if to is None:
            end_time(by=coordinator, car=car, on=on, odometer=30_000)
        else:
            hand_over(by=coordinator, car=car, keeper=to, on=on, odometer=30_000)
        expected |= {day: to for day in every_day if day > on}
    times = keeperships_of(car)
    for day in every_day:
        assert [time.keeper_id for time in times if time.holds(day)] == [one.pk for one in [expected[day]] if one]
    for earlier, later in pairwise(times):
        assert earlier.last is not None
        assert later.first is not None
        assert earlier.last < later.first
    car.refresh_from_db()
    assert car.keeper_id == times[-1].keeper_id


def test_only_a_coordinator_says_who_keeps_a_car(car: Car, keeper: Member, colleague: Member) -> None:
    with pytest.raises(PermissionError):
        end_time(by=keeper, car=car, on=FIRST, odometer=30_000)
    with pytest.raises(PermissionError):
        hand_over(by=keeper, car=car, keeper=colleague, on=FIRST, odometer=30_000)


def test_the_day_of_a_handover_is_the_one_in_london(car: Car, colleague: Member, coordinator: Member) -> None:
    with time_machine.travel(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), tick=False):
        pass_on(car, colleague, coordinator)
    assert took_over_on(car) == date(2026, 7, 2)


def test_many_cars_take_one_query(
    car: Car, colleague_car: Car, keeper: Member, colleague: Member, coordinator: Member, django_assert_num_queries
) -> None:
    hand_on(car, colleague, FIRST, coordinator)
    with django_assert_num_queries(1):
        found = keeperships_of_cars([car.pk, colleague_car.pk])
    assert found == {
        car.pk: [(keeper.pk, START, FIRST), (colleague.pk, FIRST + DAY, None)],
        colleague_car.pk: [(colleague.pk, None, None)],
    }
    assert keeperships_of_cars([]) == {}


def test_a_time_ends_with_the_service_and_with_the_day_its_keeper_left() -> None:
    times = [Keepership(1, None, FIRST), Keepership(2, FIRST + DAY, BACK), Keepership(1, BACK + DAY, None)]
    assert ended_by(times, None, None) == times
    assert ended_by(times, BACK + 5 * DAY, None) == [*times[:2], (1, BACK + DAY, BACK + 5 * DAY)]
    assert ended_by(times, BACK, BACK - DAY) == [times[0], (2, FIRST + DAY, BACK - DAY)]
    assert ended_by(times, FIRST, None) == [times[0]]


def test_the_database_keeps_out_a_second_open_time_and_an_end_before_its_start(car: Car, colleague: Member) -> None:
    KeeperTime.objects.create(car=car, keeper=car.keeper, from_on=START)
    for from_on, to_on in ((BACK, None), (START, FIRST), (BACK, FIRST)):
        with pytest.raises(IntegrityError), transaction.atomic():
            KeeperTime.objects.create(car=car, keeper=colleague, from_on=from_on, to_on=to_on)
