"""A closed month is frozen; a correction shows at the closing of a later one; too few show nothing."""

from datetime import date
from decimal import Decimal

import pytest
import time_machine

from costing.closing import MonthNotOver, ensure_closed
from costing.models import GroupFigure, GroupRunningFigure, Span
from costing.report import group_view
from costing.tasks import close_month
from fleet.models import Car
from instructors.models import Cooperative
from instructors.queries import cooperative
from tests.factories import CarFactory, CostEntryFactory, FillFactory, TeachingRecordFactory

FEBRUARY, MARCH = date(2026, 2, 1), date(2026, 3, 1)


def contributor(cost: str, *, minutes: int = 6_000, lessons: int = 50) -> None:
    """A member whose February cost ``cost`` pounds, over 1,000 miles and 100 lesson hours."""
    car = CarFactory.create()
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


def group(*costs: str) -> None:
    for cost in costs:
        contributor(cost)


def test_the_median_is_of_one_value_a_member(today: date, db: None) -> None:
    group("500.00", "600.00", "700.00", "800.00", "900.00")
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    assert (view.contributor_count, view.suppressed) == (5, False)
    assert view.median_cost_per_lesson_hour == 700
    assert view.median_cost_per_lesson == 1_400
    assert view.median_cost_per_mile == 70
    assert view.lower_quartile_cost_per_lesson_hour is None


def test_quartiles_come_from_eight_contributors_on(today: date, db: None) -> None:
    group("100", "200", "300", "400", "500", "600", "700", "800")
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    # Hyndman and Fan's type 7 at one quarter of 1..8 is 2.75, at three quarters 6.25.
    assert view.lower_quartile_cost_per_lesson_hour == 275
    assert view.upper_quartile_cost_per_lesson_hour == 625


def test_with_four_contributors_no_figure_is_even_stored(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    assert view.suppressed
    assert view.median_cost_per_lesson_hour is None
    for figure in GroupFigure.objects.all():
        assert figure.median_cost_per_lesson_hour_pence is None
        assert figure.median_cost_per_lesson_pence is None
        assert figure.median_cost_per_mile_pence is None


def test_a_minimum_raised_since_hides_what_was_frozen(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    Cooperative.objects.update_or_create(id=1, defaults={"minimum_contributors": 6})
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    assert view.suppressed
    assert view.median_cost_per_lesson_hour is None


def test_closing_again_changes_nothing(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    assert ensure_closed(FEBRUARY)
    contributor("5000")
    before = list(GroupFigure.objects.values())
    assert not ensure_closed(FEBRUARY)
    close_month()
    assert list(GroupFigure.objects.values()) == before
    assert group_view(FEBRUARY, Span.MONTH, cooperative()).median_cost_per_lesson_hour == 700


def test_a_correction_shows_as_a_revision_when_a_later_month_is_closed(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    contributor("1000")
    with time_machine.travel(date(2026, 4, 2), tick=False):
        ensure_closed(MARCH)
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    assert (view.median_cost_per_lesson_hour, view.contributor_count, view.revised) == (750, 6, True)
    frozen = GroupFigure.objects.get(month=FEBRUARY, span=Span.MONTH, revision=0)
    assert frozen.median_cost_per_lesson_hour_pence == 700


def test_closing_an_older_month_late_revises_no_other(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    contributor("1000")
    ensure_closed(date(2026, 1, 1))
    assert not GroupFigure.objects.filter(revision__gt=0).exists()


def test_a_later_closing_that_finds_nothing_new_adds_no_revision(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    with time_machine.travel(date(2026, 4, 2), tick=False):
        ensure_closed(MARCH)
    assert not GroupFigure.objects.filter(revision__gt=0).exists()


@pytest.mark.parametrize("month", [MARCH, date(2026, 4, 1)])
def test_a_month_that_is_not_over_cannot_be_closed(today: date, db: None, month: date) -> None:
    with pytest.raises(MonthNotOver):
        ensure_closed(month)
    assert not GroupFigure.objects.exists()


def test_a_member_with_two_cars_counts_once_with_both_together(today: date, db: None) -> None:
    group("500", "600", "800", "900")
    contributor("700")
    keeper = Car.objects.latest("pk").keeper
    second = CarFactory.create(keeper=keeper)
    CostEntryFactory.create(car=second, paid_on=date(2026, 2, 11), amount=Decimal("150.00"))
    view = group_view(FEBRUARY, Span.MONTH, cooperative())
    assert view.contributor_count == 5
    # Their cars together make 8.50 an hour: 5, 6, 8, 8.50 and 9.
    assert view.median_cost_per_lesson_hour == 800


def running_figures(month: date) -> dict[str, tuple[Decimal, int]]:
    rows = GroupRunningFigure.objects.filter(month=month)
    return {row.key: (row.median, row.contributor_count) for row in rows}


def test_running_costs_of_the_year_are_frozen_by_key_where_enough_have_a_value(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    for car in Car.objects.all()[:4]:
        CostEntryFactory.create(car=car, category="servicing", amount=260, paid_on=date(2025, 6, 2))
    ensure_closed(FEBRUARY)
    # Every car in service the whole year: the median of £500 to £900. Four with a service are too few.
    assert running_figures(FEBRUARY) == {"repairs_per_year": (Decimal("700.00"), 5)}


def test_running_costs_of_too_few_are_not_even_stored(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    ensure_closed(FEBRUARY)
    assert not GroupRunningFigure.objects.exists()


def test_whoever_does_not_contribute_is_no_part_of_the_running_costs(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    without_lessons = CarFactory.create()
    CostEntryFactory.create(car=without_lessons, paid_on=date(2026, 2, 10), amount=9_000)
    ensure_closed(FEBRUARY)
    assert running_figures(FEBRUARY)["repairs_per_year"] == (Decimal("700.00"), 5)


def test_running_costs_of_a_closed_month_are_never_revised(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    ensure_closed(FEBRUARY)
    contributor("1000")
    with time_machine.travel(date(2026, 4, 2), tick=False):
        ensure_closed(MARCH)
    assert running_figures(FEBRUARY) == {"repairs_per_year": (Decimal("700.00"), 5)}
    assert running_figures(MARCH) == {"repairs_per_year": (Decimal("750.00"), 6)}
