"""Random books: the core against the slow road day by day, and what must add up whatever is in them."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from random import Random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from costing.core.periods import ONE_DAY, months_within
from costing.core.records import CarBook, Period
from costing.core.running_cost import monthly_tallies, running_cost
from tests.core.costing.books import books, days, periods, rates
from tests.core.costing.day_by_day import DayByDay


def pence_each(cost: int, uses: Fraction) -> int:
    """Pence for each use by another road than the core's: long decimals, rounded half up."""
    with localcontext(prec=60):
        each = Decimal(cost * uses.denominator) / uses.numerator
        return int(each.quantize(Decimal("1e-20")).quantize(Decimal(1), ROUND_HALF_UP))


@given(books(), periods(), rates)
def test_every_figure_agrees_with_the_days_added_up(book: CarBook, period: Period, rate: Decimal) -> None:
    figures, slow = running_cost(book, period, depreciation_rate=rate), DayByDay(book, period, rate)

    assert figures.by_category == slow.by_category()
    assert figures.miles == slow.miles()
    assert figures.lessons == slow.taught("lessons")
    assert figures.minutes == slow.taught("minutes")
    assert figures.private_miles == slow.taught("private_miles")


@given(books(), periods(), rates)
def test_cost_of_each_use_follows_from_the_sums(book: CarBook, period: Period, rate: Decimal) -> None:
    figures = running_cost(book, period, depreciation_rate=rate)
    miles, private = figures.miles or 0, figures.private_miles

    expected = pence_each(figures.true_cost, Fraction(miles)) if miles else None
    assert figures.cost_per_mile == expected
    if miles and private < miles:
        of_business = Fraction(miles, miles - private)
        hours, lessons = Fraction(figures.minutes, 60) * of_business, figures.lessons * of_business
        assert figures.cost_per_lesson_hour == (pence_each(figures.true_cost, hours) if hours else None)
        assert figures.cost_per_lesson == (pence_each(figures.true_cost, lessons) if lessons else None)
    elif private > miles or not miles:
        assert (figures.cost_per_lesson_hour, figures.cost_per_lesson) == (None, None)


@given(books(), periods(), days, rates)
def test_two_parts_of_a_period_add_up_to_it(book: CarBook, period: Period, split: date, rate: Decimal) -> None:
    middle = min(max(split, period.first), period.last)
    whole = running_cost(book, period, depreciation_rate=rate)
    parts = [running_cost(book, Period(period.first, middle), depreciation_rate=rate)]
    if middle < period.last:
        parts.append(running_cost(book, Period(middle + ONE_DAY, period.last), depreciation_rate=rate))

    categories = {category for part in parts for category in part.by_category}
    added = {name: sum(part.by_category.get(name, 0) for part in parts) for name in categories}
    assert {name: pence for name, pence in added.items() if pence} == whole.by_category
    for name in ("private_miles", "lessons", "minutes", "money_out", "true_cost"):
        assert sum(getattr(part, name) for part in parts) == getattr(whole, name), name
    if whole.miles is not None:
        assert sum(part.miles or 0 for part in parts) == whole.miles


@given(books(), periods(), rates)
def test_tallies_of_months_are_the_reports_of_the_months(book: CarBook, period: Period, rate: Decimal) -> None:
    months = months_within(period)
    tallies = monthly_tallies(book, months, depreciation_rate=rate)

    for month, tally in zip(months, tallies, strict=True):
        report = running_cost(book, month, depreciation_rate=rate)
        assert tally.true_cost == report.true_cost
        assert tally.miles == (report.miles or 0)
        assert tally[3:] == (report.private_miles, report.minutes, report.lessons)
    span = Period(months[0].first, months[-1].last)
    assert monthly_tallies(book, [span], depreciation_rate=rate) == [
        tuple(sum(column) for column in zip(*tallies, strict=True))
    ]


@given(books(), periods(), rates, st.randoms(use_true_random=False))
def test_the_order_of_the_records_changes_nothing(
    book: CarBook, period: Period, rate: Decimal, shuffler: Random
) -> None:
    def shuffled(records: tuple[Any, ...]) -> tuple[Any, ...]:
        mixed = list(records)
        shuffler.shuffle(mixed)
        return tuple(mixed)

    mixed_book = CarBook(book.service, *(shuffled(records) for records in book[1:]))

    assert running_cost(mixed_book, period, depreciation_rate=rate) == running_cost(
        book, period, depreciation_rate=rate
    )


@given(books(), periods(), rates)
def test_an_absent_figure_always_has_a_reason(book: CarBook, period: Period, rate: Decimal) -> None:
    report = running_cost(book, period, depreciation_rate=rate)

    absent = None in (
        report.miles,
        report.business_share,
        report.cost_per_mile,
        report.cost_per_lesson_hour,
        report.cost_per_lesson,
    )
    assert not absent or report.missing
