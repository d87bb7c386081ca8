"""What is done to others counts in a closing only if the mail about it was accepted a week before."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from costing.closing import ensure_closed
from costing.models import Agreement, GroupFigure, Span
from costing.queries.as_notified import book_as_notified, closes_on
from fleet.actions import hand_over
from fleet.models import Car
from fleet.queries import Keepership, keeperships_of
from instructors.actions import record_act
from instructors.models import Act, ActKind, Cooperative, Member
from tests.costing.test_closing import (
    FEBRUARY,
    MARCH,
    closed,
    contributor,
    group,
    in_service_all_year,
    second_car,
    stood_still,
)
from tests.factories import CarFactory, CostEntryFactory, OdometerReadingFactory, ValuationFactory

#: A week and a second before 10 March, 00:00 in London, and the first second that is too late.
IN_TIME, TOO_LATE = datetime(2026, 3, 3, tzinfo=UTC), datetime(2026, 3, 3, 0, 0, 1, tzinfo=UTC)

pytestmark = pytest.mark.usefixtures("today")


def told(by: Member, concerns: Member, subject: str, field: str, was: object, now: object, at: datetime | None) -> None:
    act = record_act(
        by=by,
        kind=ActKind.CAR,
        concerns=concerns,
        subject=subject,
        field=field,
        was="" if was is None else str(was),
        now="" if now is None else str(now),
        is_mailed=True,
    )
    act.told_at = at
    act.save()


@pytest.fixture
def victim(coordinator: Member) -> Car:
    """The car in the middle of five."""
    group("500", "600")
    car = contributor("700")
    group("800", "900")
    return car


def end_service(car: Car, by: Member, at: datetime | None) -> None:
    car.in_service_to = date(2026, 2, 10)
    car.save()
    told(by, car.keeper, f"car:{car.pk}", "in_service_to", None, "2026-02-10", at)


@pytest.mark.parametrize(("at", "count"), [(IN_TIME, 4), (TOO_LATE, 5), (None, 5)])
def test_days_in_service_count_as_they_were_told(
    victim: Car, coordinator: Member, at: datetime | None, count: int
) -> None:
    end_service(victim, coordinator, at)
    assert closed().contributors == count


def test_a_change_of_the_keepers_own_counts_at_once(victim: Car, coordinator: Member) -> None:
    end_service(victim, victim.keeper, None)
    assert closed().contributors == 4


def test_what_the_keeper_has_set_right_since_stands(victim: Car, coordinator: Member) -> None:
    end_service(victim, coordinator, None)
    victim.in_service_to = date(2026, 2, 20)
    victim.save()
    assert closed().contributors == 4


def test_several_late_changes_are_all_undone(victim: Car, coordinator: Member) -> None:
    end_service(victim, coordinator, None)
    victim.in_service_to = date(2026, 2, 3)
    victim.save()
    told(coordinator, victim.keeper, f"car:{victim.pk}", "in_service_to", "2026-02-10", "2026-02-03", None)
    victim.in_service_from = date(2026, 1, 2)
    victim.save()
    told(coordinator, victim.keeper, f"car:{victim.pk}", "in_service_from", "2026-01-31", "2026-01-02", None)
    assert closed().contributors == 5


def test_the_same_change_counts_in_the_closing_after_it(victim: Car, coordinator: Member) -> None:
    in_service_all_year()
    victim.refresh_from_db()
    end_service(victim, coordinator, TOO_LATE)
    ensure_closed(FEBRUARY)
    with time_machine.travel(date(2026, 4, 10), tick=False):
        for car in Car.objects.all():
            stood_still(car, MARCH, date(2026, 3, 31), 11_000)
        # Told on 3 March, it counts in the year to March, in which the car was in service all the same.
        assert closed(MARCH, Span.YEAR).contributors == 5


@pytest.mark.parametrize(("at", "mile"), [(IN_TIME, 14), (TOO_LATE, 70)])
def test_a_reading_entered_by_another_counts_as_it_was_told(
    victim: Car, coordinator: Member, at: datetime, mile: int
) -> None:
    # Their fills tell 1,000 miles of February; the reading says 5,000.
    for car in Car.objects.all():
        OdometerReadingFactory.create(car=car, read_on=date(2026, 2, 28), miles=15_000)
        told(coordinator, car.keeper, f"car:{car.pk}", "reading:2026-02-28", None, 15_000, at)
    assert closed().median_cost_per_mile == mile


def test_a_reading_taken_away_or_changed_by_another_is_counted_with(victim: Car, coordinator: Member) -> None:
    for car in Car.objects.all():
        told(coordinator, car.keeper, f"car:{car.pk}", "reading:2026-02-28", 15_000, None, None)
    assert closed().median_cost_per_mile == 14


def test_without_a_late_reading_the_one_before_it_is_counted_from(victim: Car, coordinator: Member) -> None:
    # The fills begin at 10,000 on 31 January. A late reading of 25 January hides an earlier one of the keeper's.
    for car in Car.objects.all():
        car.fill_set.filter(odometer=10_000).update(odometer=9_000, filled_on=date(2025, 12, 31))
        OdometerReadingFactory.create(car=car, read_on=date(2026, 1, 25), miles=10_900)
        told(coordinator, car.keeper, f"car:{car.pk}", "reading:2026-01-25", None, 10_900, None)
    # From 9,000 to 11,000 in 59 days: 950 of them in February, and so 74p a mile.
    assert closed().median_cost_per_mile == 74


@pytest.mark.parametrize(("at", "is_counted"), [(IN_TIME, True), (TOO_LATE, False)])
def test_a_car_put_on_somebody_counts_as_it_was_told(
    victim: Car, coordinator: Member, at: datetime, is_counted: bool
) -> None:
    second = CarFactory.create(keeper=victim.keeper)
    told(coordinator, victim.keeper, f"car:{second.pk}", "car", None, second.registration, at)
    # Nothing is known of the second car: where it counts, its keeper's figures are not known.
    assert (closed().contributors, closed().out) == ((4, 1) if is_counted else (5, 0))


@pytest.mark.parametrize(("at", "is_counted"), [(IN_TIME, True), (None, False)])
def test_a_car_handed_to_somebody_counts_as_it_was_told(
    victim: Car, coordinator: Member, at: datetime | None, is_counted: bool
) -> None:
    second = CarFactory.create(keeper=victim.keeper)
    now = f"member:{victim.keeper_id}"
    told(coordinator, victim.keeper, f"car:{second.pk}", "keeper", f"member:{coordinator.pk}", now, at)
    assert closed().contributors == (4 if is_counted else 5)


@pytest.mark.parametrize(("at", "is_counted"), [(IN_TIME, True), (TOO_LATE, False)])
def test_a_day_of_leaving_counts_as_it_was_told(
    victim: Car, coordinator: Member, at: datetime, is_counted: bool
) -> None:
    victim.keeper.left_on = date(2026, 2, 20)
    victim.keeper.save()
    told(coordinator, victim.keeper, f"member:{victim.keeper_id}", "left_on", None, "2026-02-20", at)
    # In the month of their last day with a car they give nothing, and are not out.
    assert (closed().contributors, closed().out) == ((4, 0) if is_counted else (5, 0))


#: The keepers of a car as numbers and days of March 2026, and the acts that were told too late: oldest first, as
#: (from whom, to whom, on which day), with what is left.
A, B, C = 1, 2, 3
SINCE_A = (A, date(2024, 1, 8), None)


@pytest.mark.parametrize(
    ("times", "late", "left"),
    [
        # Handed over on the 5th and told too late: it counts for nothing yet.
        ([(A, 8, 5), (B, 6, None)], [(A, B, 5)], [SINCE_A]),
        # Lent and given back, both told too late; then only the giving back.
        ([(A, 8, 5), (B, 6, 9), (A, 10, None)], [(A, B, 5), (B, A, 9)], [SINCE_A]),
        ([(A, 8, 5), (B, 6, 9), (A, 10, None)], [(B, A, 9)], [(A, 8, 5), (B, 6, None)]),
        # Only the lending told too late: what the book has done since stands.
        ([(A, 8, 5), (B, 6, 9), (A, 10, None)], [(A, B, 5)], [(A, 8, 5), (B, 6, 9), (A, 10, None)]),
        # A slip put right on the same day: the short time left no row.
        ([(A, 8, 5), (C, 6, None)], [(A, B, 5), (B, C, 5)], [SINCE_A]),
        ([(A, 8, 5), (C, 6, None)], [(B, C, 5)], [(A, 8, 5), (B, 6, None)]),
        ([SINCE_A], [(A, B, 5), (B, A, 5)], [SINCE_A]),
        ([SINCE_A], [(B, A, 5)], [(A, 8, 5), (B, 6, None)]),
        # The taker, who is nobody's act, then ended their own time, or took the car from nobody.
        ([(A, 8, 5), (B, 6, 9)], [(A, B, 5)], [SINCE_A]),
        ([(A, 8, 5)], [(A, B, 5)], [SINCE_A]),
        ([(A, 8, 5), (B, 10, None)], [(A, None, 5)], [SINCE_A]),
        # Left without a keeper, and taken on from nobody.
        ([(A, 8, 5)], [(A, None, 5)], [SINCE_A]),
        ([(A, 8, 5), (B, 10, None)], [(None, B, 9)], [(A, 8, 5)]),
        ([(A, 8, 5), (B, 10, None)], [(A, None, 5), (None, B, 9)], [SINCE_A]),
        # Acts from before days were kept, and of a car without rows.
        ([(A, 8, 5), (B, 6, None)], [(A, B, None)], [SINCE_A]),
        ([(B, None, None)], [(A, B, None)], [(A, None, None)]),
        ([(A, 8, 5), (C, 6, None)], [(B, C, None)], [(A, 8, 5), (B, 6, None)]),
        ([SINCE_A], [], [SINCE_A]),
    ],
)
def test_who_kept_a_car_is_counted_without_handovers_told_too_late(
    coordinator: Member, keeper: Member, times: list[Any], late: list[Any], left: list[Any]
) -> None:
    car = CarFactory.create(keeper=keeper)
    for was, now, on in late:
        told(coordinator, keeper, f"car:{car.pk}", "keeper", was and f"member:{was}", now and f"member:{now}", None)
        if on:
            told(coordinator, keeper, f"car:{car.pk}", "handed_over_on", None, f"2026-03-{on:02}", None)
    told(coordinator, keeper, "car:0", "keeper", "member:2", "member:1", None)  # of another car
    notified = book_as_notified(IN_TIME)
    assert notified.keeperships(car, map(_time, times)) == [_time(time) for time in left]


def _time(shown: tuple[int, int | date | None, int | None]) -> Keepership:
    """A time of these days of March; the first one has begun in January 2024."""
    keeper_id, first, last = shown
    begun = date(2024, 1, 8) if first == 8 else date(2026, 3, first) if isinstance(first, int) else first
    return Keepership(keeper_id, begun, date(2026, 3, last) if last else None)


def test_the_days_of_a_handover_told_too_late_are_still_the_former_keepers(
    victim: Car, coordinator: Member, today: date
) -> None:
    giver = victim.keeper
    hand_over(by=coordinator, car=victim, keeper=coordinator, on=date(2026, 2, 10), odometer=10_400)
    victim.refresh_from_db()
    notified = book_as_notified(IN_TIME)
    first = keeperships_of(victim)[0].first
    assert notified.keeperships(victim, keeperships_of(victim)) == [(giver.pk, first, None)]
    Act.objects.update(told_at=IN_TIME)
    assert book_as_notified(IN_TIME).keeperships(victim, keeperships_of(victim)) == [
        (giver.pk, first, date(2026, 2, 10)),
        (coordinator.pk, date(2026, 2, 11), None),
    ]


def test_a_car_somebody_has_logged_on_is_theirs_whoever_entered_it(victim: Car, coordinator: Member) -> None:
    second = second_car(victim.keeper)
    CostEntryFactory.create(car=second, paid_on=date(2026, 2, 11), amount=Decimal("170.00"))
    told(coordinator, victim.keeper, f"car:{second.pk}", "car", None, second.registration, None)
    assert closed().median_cost_per_lesson_hour == 800  # 5, 6, 8, 8.70 and 9


def test_a_day_of_joining_set_too_late_gives_no_standing(victim: Car, coordinator: Member) -> None:
    told(coordinator, victim.keeper, f"member:{victim.keeper_id}", "joined_on", None, "2023-04-06", None)
    assert closed().contributors == 4


@pytest.mark.parametrize(("at", "minimum", "rounded_to"), [(IN_TIME, 6, 10), (TOO_LATE, 5, 20)])
def test_settings_count_as_they_were_told(
    victim: Car, coordinator: Member, at: datetime, minimum: int, rounded_to: int
) -> None:
    Cooperative.objects.create(minimum_contributors=6, rounding=10, depreciation_rate=Decimal("0.2"))
    for member in Member.objects.exclude(pk=coordinator.pk):
        told(coordinator, member, "settings", "minimum_contributors", 5, 6, at)
        told(coordinator, member, "settings", "rounding", 20, 10, at)
        told(coordinator, member, "settings", "depreciation_rate", "0.15", "0.2", at)
    ensure_closed(FEBRUARY)
    row = GroupFigure.objects.get(month=FEBRUARY, span=Span.MONTH)
    assert (row.minimum, row.rounded_to) == (minimum, rounded_to)


def test_a_yearly_loss_of_value_set_too_late_does_not_count(victim: Car, coordinator: Member) -> None:
    Agreement.objects.all().delete()
    for car in Car.objects.all():
        ValuationFactory.create(car=car, valued_on=date(2026, 1, 31), value=Decimal("10000.00"))
    before = closed().median_cost_per_lesson_hour
    GroupFigure.objects.all().delete()
    Cooperative.objects.create(depreciation_rate=Decimal("0.9"))
    told(coordinator, victim.keeper, "settings", "depreciation_rate", "0.15", "0.9", None)
    assert closed().median_cost_per_lesson_hour == before


@pytest.mark.parametrize(
    ("at", "closing"),
    [
        (datetime(2026, 4, 30, tzinfo=UTC), date(2026, 5, 8)),
        (datetime(2026, 5, 1, tzinfo=UTC), date(2026, 5, 10)),
        (None, date(2026, 5, 10)),
    ],
)
def test_a_closing_day_counts_if_told_before_the_month_is_over(
    coordinator: Member, keeper: Member, today: date, at: datetime | None, closing: date
) -> None:
    settings = Cooperative.objects.create()
    settings.set_closing_day(8, today)
    settings.save()
    told(coordinator, keeper, "settings", "closing_day", 10, 8, at)
    assert closes_on(MARCH) == date(2026, 4, 10)
    assert closes_on(date(2026, 4, 1)) == closing
