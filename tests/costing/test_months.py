"""Twelve months of a lesson hour: the same figures as every other report, one query for the group's."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from costing.core.catalogue.costs import CostGroup
from costing.core.periods import month_of, months_ending, months_within
from costing.models import FillUnit
from costing.months import MonthsReport, months_report
from costing.report import car_reports, taken_together
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Cooperative, Member
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    GroupFigureFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

TODAY = date(2026, 3, 16)
YEAR = months_ending(date(2026, 2, 1), 12)

pytestmark = pytest.mark.django_db


def report_of(member: Member, **settings: Any) -> MonthsReport:
    return months_report(member, date(2026, 2, 1), TODAY, Cooperative(**settings))


def a_year_of(car: Car, miles_a_month: int) -> None:
    """Fifteen months of fills, lessons and bills that come out even nowhere."""
    ValuationFactory.create(car=car, valued_on=date(2024, 12, 31), value=Decimal("9000.00"))
    for number in range(15):
        month = month_of(add_months(date(2026, 3, 1), -number))
        miles = 40_000 - miles_a_month * number
        FillFactory.create(car=car, filled_on=month.first, odometer=miles, amount=Decimal("61.37"), unit=FillUnit.LITRE)
        TeachingRecordFactory.create(
            car=car, from_on=month.first, to_on=month.first, lesson_count=17, minutes=1_411, private_miles=103
        )
        CostEntryFactory.create(
            car=car,
            paid_on=month.first,
            category="insurance",
            amount=Decimal("71.11"),
            covers_from=month.first,
            covers_to=month.last + timedelta(days=9),
        )
    CostEntryFactory.create(car=car, paid_on=date(2025, 8, 5), category="servicing", amount=Decimal("213.45"))


def test_each_month_agrees_with_the_members_own_figures_to_the_penny(car: Car, keeper: Member) -> None:
    second = CarFactory.create(keeper=keeper)
    a_year_of(car, 811)
    a_year_of(second, 97)
    report, periods = report_of(keeper), [*months_within(YEAR), YEAR]
    assert [month.own for month in report.months] + [report.year.own] == taken_together(
        car_reports(periods, cars=[car, second], member=keeper), len(periods)
    )
    assert [month.period for month in report.months] == periods[:-1]
    for month in [*report.months, report.year]:
        assert month.own.cost_per_lesson_hour is not None
        assert sum(month.own.by_group.values()) == month.own.cost_per_lesson_hour
    assert CostGroup.SERVICE in report.months[5].own.by_group
    assert CostGroup.SERVICE not in report.months[4].own.by_group


def test_a_month_without_a_figure_says_why_and_has_no_slices(car: Car, keeper: Member) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 1, 31), miles=30_000)
    OdometerReadingFactory.create(car=car, read_on=date(2026, 2, 28), miles=30_600)
    report = report_of(keeper)
    february = report.months[-1].own
    assert (february.cost_per_lesson_hour, february.by_group) == (None, {})
    assert "no lessons logged" in february.reasons
    assert all(month.own.cost_per_lesson_hour is None for month in report.months)


def test_the_groups_figures_come_by_one_query_and_only_where_they_may_be_shown(
    car: Car, keeper: Member, django_assert_num_queries: Any
) -> None:
    GroupFigureFactory.create(month=date(2025, 12, 1))
    GroupFigureFactory.create(
        month=date(2026, 1, 1), contributor_count=4, median_cost_per_lesson_hour=None, median_cost_per_mile=None
    )
    GroupFigureFactory.create(month=date(2026, 2, 1))
    GroupFigureFactory.create(month=date(2026, 2, 1), span="year", median_cost_per_lesson_hour=Decimal("6.40"))
    GroupFigureFactory.create(month=date(2026, 1, 1), span="year", median_cost_per_lesson_hour=Decimal("1.20"))
    with django_assert_num_queries(7):
        report = report_of(keeper)
    medians = [month.group and month.group.median_cost_per_lesson_hour for month in report.months]
    assert medians == [None] * 9 + [680, None, 680]
    assert report.months[-2].group is not None
    assert report.months[-2].group.suppressed
    assert report.months[0].group is None
    assert report.year.group is not None
    assert report.year.group.median_cost_per_lesson_hour == 640
    # The members have raised the minimum since.
    raised = report_of(keeper, minimum_contributors=7)
    assert [month.group for month in raised.months if month.group and not month.group.suppressed] == []


def test_the_last_entry_is_the_members_own_up_to_today(car: Car, keeper: Member, colleague: Member) -> None:
    assert report_of(keeper).last_entry_on is None
    FillFactory.create(car=car, member=colleague, filled_on=date(2026, 3, 15), odometer=30_000)
    assert report_of(keeper).last_entry_on is None
    CostEntryFactory.create(car=car, paid_on=date(2026, 3, 2))
    TeachingRecordFactory.create(car=car, from_on=date(2026, 3, 9), to_on=date(2026, 3, 13))
    assert report_of(keeper).last_entry_on == date(2026, 3, 13)
    FillFactory.create(car=car, filled_on=TODAY, odometer=30_100)
    assert report_of(keeper).last_entry_on == TODAY


def test_what_was_begun_is_told_for_each_car(car: Car, keeper: Member) -> None:
    second = CarFactory.create(keeper=keeper)
    a_year_of(car, 811)
    OdometerReadingFactory.create(car=second, read_on=date(2024, 1, 8), miles=100)
    begun = report_of(keeper).begun
    assert begun[car.pk] == (True, True, True, True)
    assert begun[second.pk] == (True, False, False, False)


def test_without_a_car_every_month_says_so(stranger: Member) -> None:
    report = report_of(stranger)
    assert {month.own.reasons for month in report.months} == {("you had no car in service then",)}
    assert (report.last_entry_on, report.begun) == (None, {})
