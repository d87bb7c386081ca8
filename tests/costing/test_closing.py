"""A month is closed once, on its day, rounded, and never changes; too few show nothing."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal

import pytest
import time_machine
from django.db import connection

from costing.closing import NotClosedYet, close_past_months, ensure_closed, last_month_to_close
from costing.core.group import Shown
from costing.models import CostEntry, Fill, GroupFigure, Span, ToldOfContributor
from costing.report import group_view
from costing.tasks import close_months
from fleet.models import Car
from instructors.models import Cooperative, Member
from instructors.queries import cooperative
from instructors.tasks import clean
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    GroupFigureFactory,
    HireFactory,
    TeachingRecordFactory,
    ToldOfContributorFactory,
)

JANUARY, FEBRUARY, MARCH = date(2026, 1, 1), date(2026, 2, 1), date(2026, 3, 1)


def contributor(cost: str, *, minutes: int = 6_000, lessons: int = 50, joined_on: date = date(2023, 4, 6)) -> Car:
    """A member whose February cost ``cost`` pounds, over 1,000 miles and 100 lesson hours."""
    car = CarFactory.create(keeper__joined_on=joined_on, in_service_from=date(2026, 1, 31))
    HireFactory.create(car=car)
    FillFactory.create(car=car, filled_on=date(2026, 1, 31), odometer=10_000, amount=0)
    FillFactory.create(car=car, filled_on=date(2026, 2, 28), odometer=11_000, amount=0)
    CostEntryFactory.create(car=car, paid_on=date(2026, 2, 10), amount=Decimal(cost))
    TeachingRecordFactory.create(
        car=car,
        from_on=FEBRUARY,
        to_on=date(2026, 2, 28),
        lesson_count=lessons,
        minutes=minutes,
        private_miles=0,
    )
    return car


def stood_still(car: Car, first: date, last: date, odometer: int = 10_000) -> None:
    """Nothing was done with a car on these days, and all of that is in the book."""
    for day in (first, last):
        FillFactory.create(car=car, filled_on=day, odometer=odometer, amount=0)
    TeachingRecordFactory.create(car=car, from_on=first, to_on=last, lesson_count=0, minutes=0, private_miles=0)


def second_car(keeper: Member) -> Car:
    """Another car of somebody's, of which everything is in the book."""
    car = CarFactory.create(keeper=keeper, in_service_from=date(2026, 1, 31))
    HireFactory.create(car=car)
    stood_still(car, car.in_service_from, date(2026, 2, 28))
    return car


def in_service_all_year() -> None:
    """Every car so far was in service in the whole year, and stood still until the end of January."""
    for car in Car.objects.all():
        stood_still(car, date(2025, 3, 1), date(2026, 1, 30))
    Car.objects.update(in_service_from=date(2025, 3, 1))


def group(*costs: str) -> None:
    for cost in costs:
        contributor(cost)


def closed(month: date = FEBRUARY, span: str = Span.MONTH) -> Shown:
    ensure_closed(month)
    view = group_view(month, span, cooperative())
    assert view is not None
    return view


def test_the_median_is_of_one_value_a_member(today: date, db: None) -> None:
    group("500.00", "600.00", "700.00", "800.00", "900.00")
    view = closed()
    assert (view.contributors, view.out, view.suppressed) == (5, 0, False)
    assert view.median_cost_per_lesson_hour == 700
    assert view.median_cost_per_mile == 70
    assert view.lower_quartile_cost_per_lesson_hour is None


@pytest.mark.parametrize(
    ("rounding", "hour", "mile"), [(10, "7.10", "0.71"), (20, "7.00", "0.70"), (50, "7.00", "0.70")]
)
def test_only_the_rounded_figure_is_stored(today: date, db: None, rounding: int, hour: str, mile: str) -> None:
    Cooperative.objects.create(rounding=rounding)
    group("500.00", "600.00", "709.00", "800.00", "900.00")
    ensure_closed(FEBRUARY)
    row = GroupFigure.objects.get(month=FEBRUARY, span=Span.MONTH)
    assert (row.median_cost_per_lesson_hour, row.median_cost_per_mile) == (Decimal(hour), Decimal(mile))
    assert row.rounded_to == rounding


def test_quartiles_come_from_eight_contributors_on(today: date, db: None) -> None:
    group("100", "200", "300", "400", "500", "600", "700", "800")
    view = closed()
    # Hyndman and Fan's type 7 at one quarter of 1..8 is 2.75, at three quarters 6.25; to the nearest 20p, half up.
    assert view.lower_quartile_cost_per_lesson_hour == 280
    assert view.upper_quartile_cost_per_lesson_hour == 620


def test_with_four_contributors_no_figure_is_even_stored(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    assert closed().suppressed
    for row in GroupFigure.objects.all():
        assert row.contributor_count in (0, 4)
        assert row.median_cost_per_lesson_hour is None
        assert row.median_cost_per_mile is None
        assert row.repairs_per_year is None


def test_a_minimum_raised_since_hides_what_was_kept_and_a_lowered_one_shows_no_more(today: date, db: None) -> None:
    settings = Cooperative.objects.create(minimum_contributors=6)
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    settings.minimum_contributors = 5
    settings.save()
    assert closed().suppressed
    group("1000")
    with time_machine.travel(date(2026, 4, 10), tick=False):
        ensure_closed(MARCH)
        settings.minimum_contributors = 7
        settings.save()
        assert closed(MARCH, Span.YEAR).suppressed


def test_a_newcomer_counts_once_they_have_ninety_days_standing(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    late = contributor("900", joined_on=date(2025, 12, 1))  # 89 days before 28 February
    view = closed()
    assert (view.contributors, view.out) == (4, 0)
    GroupFigure.objects.all().delete()
    late.keeper.joined_on = date(2025, 11, 30)
    late.keeper.save()
    assert closed().contributors == 5


def test_whoever_joined_on_no_known_day_has_no_standing(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    contributor("900", joined_on=None)  # type: ignore[arg-type]
    assert closed().contributors == 4


def test_whoever_has_standing_and_a_car_but_no_lessons_is_out(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    contributor("1000", lessons=0)
    CarFactory.create(in_service_from=date(2026, 2, 2))
    assert (closed().contributors, closed().out) == (5, 1)


def test_closing_again_changes_nothing_and_a_correction_shows_in_no_closed_month(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    contributor("5000")
    before = list(GroupFigure.objects.values())
    ensure_closed(FEBRUARY)
    close_months()
    assert list(GroupFigure.objects.values()) == before
    assert closed().median_cost_per_lesson_hour == 700


def test_a_correction_shows_in_the_year_of_a_later_closing(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    contributor("1000")
    with time_machine.travel(date(2026, 4, 10), tick=False):
        for car in Car.objects.all():
            stood_still(car, MARCH, date(2026, 3, 31), 11_000)
        ensure_closed(MARCH)
        assert closed(FEBRUARY).contributors == 5
        view = closed(MARCH, Span.YEAR)
        assert (view.contributors, view.median_cost_per_lesson_hour) == (6, 760)  # 750, to the nearest 20p half up


@pytest.mark.parametrize(
    ("day", "newest"),
    [(date(2026, 3, 9), JANUARY), (date(2026, 3, 10), FEBRUARY), (date(2026, 4, 9), FEBRUARY)],
)
def test_a_month_is_closed_from_the_tenth_of_the_next(db: None, day: date, newest: date) -> None:
    with time_machine.travel(day, tick=False):
        assert last_month_to_close(day) == newest
        ensure_closed(newest)
        with pytest.raises(NotClosedYet):
            ensure_closed(FEBRUARY if newest == JANUARY else MARCH)
    assert set(GroupFigure.objects.values_list("month", flat=True)) == {newest}


def test_a_closing_day_set_now_counts_from_the_next_month_on(today: date, db: None) -> None:
    settings = Cooperative.objects.create()
    settings.set_closing_day(20, today)
    settings.set_closing_day(15, today)
    settings.save()
    with time_machine.travel(date(2026, 4, 10), tick=False):
        ensure_closed(MARCH)
    with time_machine.travel(date(2026, 5, 14), tick=False), pytest.raises(NotClosedYet, match="15 May 2026"):
        ensure_closed(date(2026, 4, 1))


def test_whoever_closes_at_the_same_time_waits_and_finds_it_done(transactional_db: None) -> None:
    group("500", "600", "700", "800", "900")

    def close(_: int) -> list[date]:
        try:
            return close_past_months(date(2026, 3, 16))
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as closers:
        done = list(closers.map(close, range(3)))
    assert sorted(done) == [[], [], [JANUARY, FEBRUARY]]
    assert GroupFigure.objects.count() == 4


def test_all_months_from_the_first_record_on_are_closed_once(today: date, db: None) -> None:
    assert close_past_months(today) == []
    group("500", "600", "700", "800", "900")
    assert close_past_months(today) == [JANUARY, FEBRUARY]
    assert close_past_months(today) == []
    assert GroupFigure.objects.count() == 4


def test_the_years_months_are_closed_before_it(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    CostEntryFactory.create(car=Car.objects.first(), paid_on=date(2025, 11, 3))
    ensure_closed(FEBRUARY)
    months = GroupFigure.objects.filter(span=Span.MONTH).values_list("month", flat=True)
    assert sorted(months) == [date(2025, 11, 1), date(2025, 12, 1), JANUARY, FEBRUARY]


def test_a_member_with_two_cars_counts_once_with_both_together(today: date, db: None) -> None:
    group("500", "600", "800", "900")
    keeper = contributor("700").keeper
    second = second_car(keeper)
    CostEntryFactory.create(car=second, paid_on=date(2026, 2, 11), amount=Decimal("150.00"))
    view = closed()
    assert view.contributors == 5
    # Their cars together make 8.50 an hour: 5, 6, 8, 8.50 and 9.
    assert view.median_cost_per_lesson_hour == 800


def running_figures() -> dict[str, Decimal]:
    row = GroupFigure.objects.get(month=FEBRUARY, span=Span.YEAR)
    names = ("fuel_pence_per_mile_petrol", "fuel_pence_per_mile_diesel", "repairs_per_year", "servicing_per_year")
    return {name: value for name in names if (value := getattr(row, name)) is not None}


def test_running_costs_of_the_year_are_kept_rounded_where_enough_have_a_value(today: date, db: None) -> None:
    group("500", "600", "720", "800", "900")
    for car in Car.objects.all()[:4]:
        CostEntryFactory.create(car=car, category="servicing", amount=260, paid_on=date(2025, 6, 2))
    Fill.objects.filter(odometer=11_000).update(amount="137.60")
    in_service_all_year()
    ensure_closed(FEBRUARY)
    # The median of £500 to £900 to the nearest £50, and 13.76p a mile to the nearest half penny. Four with a service
    # are too few.
    assert running_figures() == {
        "repairs_per_year": Decimal("700.00"),
        "fuel_pence_per_mile_petrol": Decimal("14.00"),
    }
    month = GroupFigure.objects.get(month=FEBRUARY, span=Span.MONTH)
    assert month.repairs_per_year is None


def test_fuel_is_by_the_kind_that_a_car_burns(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    Fill.objects.filter(filled_on=date(2026, 2, 28)).update(amount="137.60")
    Car.objects.update(fuel="diesel")
    in_service_all_year()
    ensure_closed(FEBRUARY)
    assert running_figures()["fuel_pence_per_mile_diesel"] == Decimal("14.00")
    assert "fuel_pence_per_mile_petrol" not in running_figures()


def test_whoever_does_not_contribute_is_no_part_of_the_running_costs(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    in_service_all_year()
    without_lessons = CarFactory.create()
    CostEntryFactory.create(car=without_lessons, paid_on=date(2026, 2, 10), amount=9_000)
    ensure_closed(FEBRUARY)
    assert running_figures() == {"repairs_per_year": Decimal("700.00")}
    assert CostEntry.objects.count() == 6


@pytest.mark.parametrize(("other", "is_kept"), [(date(2025, 3, 1), False), (date(2025, 2, 1), True)])
def test_no_two_years_with_running_costs_share_a_day(today: date, db: None, other: date, is_kept: bool) -> None:
    GroupFigureFactory.create(month=other)
    GroupFigureFactory.create(month=other, span=Span.YEAR, repairs_per_year="400.00")
    group("500", "600", "700", "800", "900")
    in_service_all_year()
    ensure_closed(FEBRUARY)
    assert running_figures() == ({"repairs_per_year": Decimal("700.00")} if is_kept else {})


def test_an_earlier_year_closed_later_shares_no_day_either(today: date, db: None) -> None:
    # Its last day is in a year that has them already, of a month that was closed before.
    GroupFigureFactory.create(month=date(2027, 1, 1), span=Span.YEAR, repairs_per_year="400.00")
    group("500", "600", "700", "800", "900")
    in_service_all_year()
    ensure_closed(FEBRUARY)
    assert running_figures() == {}


def test_whoever_had_no_car_on_one_day_of_the_year_has_no_part_in_its_running_costs(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    in_service_all_year()
    joined = contributor("9000")
    stood_still(joined, date(2025, 3, 2), date(2026, 1, 30))
    Car.objects.filter(pk=joined.pk).update(in_service_from=date(2025, 3, 2))
    ensure_closed(FEBRUARY)
    row = GroupFigure.objects.get(month=FEBRUARY, span=Span.YEAR)
    # The sixth is one of the year's contributors all the same.
    assert (row.contributor_count, row.repairs_per_year) == (6, Decimal("700.00"))


@pytest.mark.django_db
@time_machine.travel("2026-03-10T12:00Z")
def test_an_entry_of_before_anybody_had_standing_closes_no_month_of_its_time() -> None:
    car = contributor("500.00", joined_on=date(2025, 10, 20))
    CostEntryFactory.create(car=car, paid_on=date(1980, 5, 1))
    # They have standing from 18 January 2026 on.
    assert close_past_months(date(2026, 3, 10)) == [JANUARY, FEBRUARY]


@pytest.mark.django_db
@pytest.mark.parametrize("joined_on", [None, date(2026, 2, 1)])
@time_machine.travel("2026-03-10T12:00Z")
def test_where_nobody_has_standing_nothing_is_closed(joined_on: date | None) -> None:
    contributor("500.00")
    Member.objects.update(joined_on=joined_on)
    assert close_past_months(date(2026, 3, 10)) == []


@pytest.mark.django_db
def test_older_records_that_come_late_change_no_year_but_their_own() -> None:
    cars = [contributor(cost) for cost in ("500.00", "600.00", "704.00", "800.00", "900.00")]
    with time_machine.travel("2026-03-10T12:00Z"):
        close_months()
    for car in cars:
        stood_still(car, MARCH, date(2026, 3, 31), odometer=11_000)
        stood_still(car, date(2025, 11, 30), date(2026, 1, 30))
    Car.objects.update(in_service_from=date(2025, 11, 30))
    with time_machine.travel("2026-04-10T12:00Z"):
        assert close_past_months(date(2026, 4, 10)) == [date(2025, 11, 1), date(2025, 12, 1), MARCH]
    # In the year to March stands what each spent in February, and nothing of it in the year to January.
    year = GroupFigure.objects.get(month=MARCH, span=Span.YEAR)
    assert year.median_cost_per_lesson_hour == Decimal("7.00")


# --- What is kept of what a figure told ---------------------------------------------------------------------


@pytest.mark.django_db
@time_machine.travel("2026-03-10T12:00Z")
def test_a_closing_keeps_what_its_figures_told_of_each_contributor() -> None:
    cars = [contributor(cost) for cost in ("500.00", "600.00", "704.00", "800.00", "900.00")]
    close_months()
    told = {row.member: (row.least, row.most) for row in ToldOfContributor.objects.filter(figure__month=FEBRUARY)}
    # £7.00 an hour to the nearest 20p is £6.90 to £7.10 of the one in the middle, over 100 hours; 70p a mile to the
    # nearest 2p is 69p to 71p, over 1,000 miles. Of the others it tells on which side they are.
    assert told == {
        **{car.keeper: (0, 71_000) for car in cars[:2]},
        cars[2].keeper: (69_000, 71_000),
        **{car.keeper: (69_000, None) for car in cars[3:]},
    }


@pytest.mark.django_db
@time_machine.travel("2026-03-10T12:00Z")
def test_what_was_told_is_kept_while_a_year_to_come_shares_a_month_with_it() -> None:
    contributor("500.00")
    for month in (date(2024, 3, 1), date(2024, 4, 1)):
        ToldOfContributorFactory.create(figure__month=month)
    close_months()
    clean()
    assert ToldOfContributor.objects.count() == 1
    clean()
    # The year to February 2027 still shares March 2026 with the one to that month, whose first is April 2025; and that
    # shares it with the year to April 2025, whose months began in May 2024.
    assert [row.figure.month for row in ToldOfContributor.objects.all()] == [date(2024, 4, 1)]
