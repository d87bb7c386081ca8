"""Random books: the core against the slow road day by day, and what must add up whatever is in them."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from random import Random
from typing import Any, Literal

from hypothesis import given
from hypothesis import strategies as st

from costing.core.economy import Economy
from costing.core.periods import ONE_DAY, months_within
from costing.core.records import CarBook, Period
from costing.core.running_cost import RunningCost, monthly_tallies, running_cost
from costing.core.together import together
from tests.core.costing.books import books, days, periods, rates
from tests.core.costing.day_by_day import DayByDay
from tests.core.costing.days_known import FILLS, LESSONS, READINGS

VALUE = "depreciation"
RECORDS = ("readings", "costs", "fills", "teaching", "agreements", "valuations", "keepings", "logged")


def pence_each(cost: int, uses: Fraction) -> int:
    """Pence for each use by another road than the core's: long decimals, rounded half up."""
    with localcontext(prec=60):
        each = Decimal(cost * uses.denominator) / uses.numerator
        return int(each.quantize(Decimal("1e-20")).quantize(Decimal(1), ROUND_HALF_UP))


def figures_of(cost: RunningCost, name: Literal["litre_economy", "kwh_economy"]) -> tuple[int, int] | None:
    found: Economy | None = getattr(cost, name)
    return None if found is None else (found.miles, found.thousandths)


@given(books(), periods(), rates)
def test_every_figure_agrees_with_the_days_added_up(book: CarBook, period: Period, rate: Decimal) -> None:
    figures, slow = running_cost(book, period, depreciation_rate=rate), DayByDay(book, period, rate)

    assert figures.by_category == slow.by_category()
    assert figures.money_out == slow.money_out()
    assert figures.miles == slow.miles()
    assert figures.lessons == slow.taught("lessons")
    assert figures.minutes == slow.taught("minutes")
    assert figures.private_miles == slow.taught("private_miles")
    assert figures_of(figures, "litre_economy") == slow.economy("litre")
    assert figures_of(figures, "kwh_economy") == slow.economy("kwh")
    assert set(figures.estimated) == slow.estimated()


@given(books(), periods(), rates)
def test_what_is_known_agrees_with_the_days(book: CarBook, period: Period, rate: Decimal) -> None:
    figures, slow = running_cost(book, period, depreciation_rate=rate), DayByDay(book, period, rate)

    assert figures.is_without_value == slow.is_without_value
    assert figures.is_borrowed == slow.is_borrowed()
    assert figures.known_until == slow.reach.until()
    assert figures.is_known == slow.is_known()
    named = {(found.reason.value, found.day) for found in figures.missing}
    inputs = {*READINGS, *FILLS, *LESSONS, "days_without_lessons"}
    assert {one for one in named if one[0] in inputs} == slow.named()


@given(books(), periods(), rates)
def test_cost_of_each_use_follows_from_the_sums(book: CarBook, period: Period, rate: Decimal) -> None:
    figures = running_cost(book, period, depreciation_rate=rate)
    slow = DayByDay(book, period, rate)
    miles, private, cost = slow.miles() or 0, slow.taught("private_miles"), sum(slow.by_category().values())

    assert figures.cost_per_mile == (pence_each(cost, Fraction(miles)) if miles and slow.is_known() else None)
    of_business = None
    if miles and private is not None and private <= miles and slow.is_known():
        of_business = Fraction(miles - private, miles)
    for name, uses in (("lesson", slow.taught("lessons")), ("lesson_hour", Fraction(slow.taught("minutes") or 0, 60))):
        expected = None
        if of_business is not None and uses:
            expected = pence_each(cost, uses / of_business) if of_business else 0
        assert getattr(figures, f"cost_per_{name}") == expected


@given(books(), periods(), days, rates)
def test_two_parts_of_a_period_add_up_to_it(book: CarBook, period: Period, split: date, rate: Decimal) -> None:
    middle = min(max(split, period.first), period.last)
    whole = running_cost(book, period, depreciation_rate=rate)
    parts = [running_cost(book, Period(period.first, middle), depreciation_rate=rate)]
    if middle < period.last:
        parts.append(running_cost(book, Period(middle + ONE_DAY, period.last), depreciation_rate=rate))

    known = not any(cost.is_without_value for cost in (whole, *parts))
    categories = {category for part in (whole, *parts) for category in part.by_category if known or category != VALUE}
    for name in categories:
        assert sum(part.by_category.get(name, 0) for part in parts) == whole.by_category.get(name, 0), name
    assert sum(part.money_out for part in parts) == whole.money_out
    for used in ("private_miles", "lessons", "minutes"):
        told = [getattr(part, used) for part in parts]
        assert getattr(whole, used) == (None if None in told else sum(told)), used
    if whole.miles is not None:
        assert sum(part.miles or 0 for part in parts) == whole.miles


@given(books(), periods(), rates)
def test_tallies_of_months_are_the_reports_of_the_months(book: CarBook, period: Period, rate: Decimal) -> None:
    months = months_within(period)
    tallies = monthly_tallies(book, months, depreciation_rate=rate)

    for month, tally in zip(months, tallies, strict=True):
        report, slow = running_cost(book, month, depreciation_rate=rate), DayByDay(book, month, rate)
        assert tally.true_cost == sum(slow.in_all().values())
        assert tally.miles == (report.miles or 0)
        told = (report.private_miles, report.minutes, report.lessons)
        for here, there in zip((tally.private_miles, tally.minutes, tally.lessons), told, strict=True):
            assert there is None or here == there
        assert tally.is_known is (report.is_known and None not in told)
        assert tally.is_borrowed is report.is_borrowed
        assert tally.service_days == sum(slow.is_in_time(day) for day in slow.every_day())
    span = Period(months[0].first, months[-1].last)
    [whole] = monthly_tallies(book, [span], depreciation_rate=rate)
    assert whole[:6] == tuple(sum(column) for column in list(zip(*tallies, strict=True))[:6])


@given(st.lists(books(), min_size=1, max_size=3), periods(), rates)
def test_cars_together_add_up_and_know_what_the_worst_known_of_them_knows(
    cars: list[CarBook], period: Period, rate: Decimal
) -> None:
    slow = [DayByDay(book, period, rate) for book in cars]
    both = together([running_cost(book, period, depreciation_rate=rate) for book in cars])

    counted = [sum(one.by_category().values()) for one in slow]
    assert both.true_cost == sum(counted)
    assert both.money_out == sum(one.money_out() for one in slow)
    for name, told in (
        ("miles", [one.miles() for one in slow]),
        *((used, [one.taught(used) for one in slow]) for used in ("lessons", "minutes", "private_miles")),
    ):
        assert getattr(both, name) == (None if None in told else sum(told)), name
    kept = [one for one in slow if not one.is_borrowed()] or slow
    assert both.is_known == all(one.is_known() for one in kept)
    until = [one.reach.until() for one in kept]
    assert both.known_until == (None if None in until else min(until))
    assert both.is_without_value == any(one.is_without_value for one in slow)


@given(books(), periods(), rates, st.randoms(use_true_random=False))
def test_the_order_of_the_records_changes_nothing(
    book: CarBook, period: Period, rate: Decimal, shuffler: Random
) -> None:
    def shuffled(records: tuple[Any, ...]) -> tuple[Any, ...]:
        mixed = list(records)
        shuffler.shuffle(mixed)
        return tuple(mixed)

    mixed_book = book._replace(
        **{name: shuffled(records) for name, records in book._asdict().items() if name in RECORDS and records}
    )

    assert running_cost(mixed_book, period, depreciation_rate=rate) == running_cost(
        book, period, depreciation_rate=rate
    )


@given(books(), periods(), rates)
def test_an_absent_figure_always_has_a_reason(book: CarBook, period: Period, rate: Decimal) -> None:
    report = running_cost(book, period, depreciation_rate=rate)

    absent = None in (
        report.miles,
        report.lessons,
        report.minutes,
        report.private_miles,
        report.business_share,
        report.cost_per_mile,
        report.cost_per_lesson_hour,
        report.cost_per_lesson,
    )
    assert not absent or report.missing
