"""The true cost of one car over a period, how it was used, and the cost of each use."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from costing.core.charges import Charge, charges, fuel_totals
from costing.core.economy import Economy, economy, in_order, stretches
from costing.core.missing import Missing, Reason, missing_economy, missing_records, missing_use
from costing.core.money import divide_half_up
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import CarBook, Period, Service, Teaching
from costing.core.shares import ByDays, RunningTotal, growth_at


def business_share(miles: int, private_miles: int) -> Fraction | None:
    """Return the part of ``miles`` that was not private; None without miles, or if more were private."""
    return Fraction(miles - private_miles, miles) if miles > 0 and private_miles <= miles else None


@dataclass(frozen=True)
class RunningCost:
    """One car over one period, in whole pence, miles and minutes. An absent figure is None.

    ``missing`` says why a figure is absent or rests on less than the whole period; ``estimated`` names the categories
    that rest on an estimate. ``by_category`` leaves out categories of zero.
    """

    period: Period
    miles: int | None
    private_miles: int
    lessons: int
    minutes: int
    by_category: dict[str, int]
    money_out: int
    litre_economy: Economy | None
    kwh_economy: Economy | None
    estimated: tuple[str, ...]
    missing: tuple[Missing, ...]

    @property
    def true_cost(self) -> int:
        """The cost of using the car, in pence: the sum of the categories."""
        return sum(self.by_category.values())

    @property
    def business_share(self) -> Fraction | None:
        """The part of the miles that was not private, 0 to 1."""
        return business_share(self.miles or 0, self.private_miles)

    @property
    def cost_per_mile(self) -> int | None:
        """Pence a mile, private miles included."""
        return divide_half_up(self.true_cost, self.miles) if self.miles and self.miles > 0 else None

    @property
    def cost_per_lesson_hour(self) -> int | None:
        """Pence of the business share for each hour taught."""
        return self._for_each(Fraction(self.minutes, 60))

    @property
    def cost_per_lesson(self) -> int | None:
        """Pence of the business share for each lesson given."""
        return self._for_each(Fraction(self.lessons))

    def _for_each(self, uses: Fraction) -> int | None:
        share = self.business_share
        return divide_half_up(self.true_cost * share, uses) if share is not None and uses > 0 else None


class Tally(NamedTuple):
    """The sums of one car over one period that can be added up over periods and cars.

    They are days, pence, miles, minutes and lessons. Miles are 0 without any reading.
    """

    service_days: int
    true_cost: int
    miles: int
    private_miles: int
    minutes: int
    lessons: int


def running_cost(book: CarBook, period: Period, *, depreciation_rate: Decimal) -> RunningCost:
    """Work out the true cost of a car over ``period``; ``depreciation_rate`` is yearly (0.15 = 15 %).

    Raises ValueError if the period ends before it begins, if the rate is not from 0 to 1, or if a cover has no days or
    miles.
    """
    [cost] = running_costs(book, [period], depreciation_rate=depreciation_rate)
    return cost


def running_costs(book: CarBook, periods: Sequence[Period], *, depreciation_rate: Decimal) -> list[RunningCost]:
    """Return the `running_cost` of each of ``periods``, in any order, by one pass over the book."""
    for period in periods:
        _require_days(period)
    fills = in_order(book.fills)
    odometer, fuel = CarOdometer(book.readings, fills), list(fuel_totals(fills))
    every_charge = list(charges(book, odometer, fuel, depreciation_rate))
    runs = {unit: list(stretches(fills, unit)) for unit in {fill.unit for fill in fills}}
    taught = zip(*(_used_in_each(periods, totals) for totals in _taught(book.teaching)), strict=True)

    def over(period: Period, lessons: int, minutes: int, private_miles: int) -> RunningCost:
        by_category, estimated = _used_by_category(every_charge, period)
        miles = odometer.miles(period)
        economies = {unit: economy(found, unit, period) for unit, found in runs.items()}
        missing = [*missing_records(book, period, odometer, fuel)]
        if Missing(Reason.NOT_IN_SERVICE) not in missing:
            missing += missing_use(miles, private_miles, lessons, minutes)
            missing += missing_economy(economies, (unit for unit, known in economies.items() if known))
        return RunningCost(
            period=period,
            miles=miles,
            private_miles=private_miles,
            lessons=lessons,
            minutes=minutes,
            by_category=by_category,
            money_out=_paid_in(book, period),
            litre_economy=economies.get("litre"),
            kwh_economy=economies.get("kwh"),
            estimated=estimated,
            missing=tuple(missing),
        )

    return [over(period, *used) for period, used in zip(periods, taught, strict=True)]


def monthly_tallies(book: CarBook, months: Sequence[Period], *, depreciation_rate: Decimal) -> list[Tally]:
    """Return the tally of each of ``months`` (any periods, in any order), with the figures of `running_cost`.

    Each component is a difference of running totals, so the tallies of months add up to the tally of their whole
    period. One pass over the book serves all months. Raises ValueError as `running_cost` does.
    """
    for month in months:
        _require_days(month)
    fills = in_order(book.fills)
    odometer = CarOdometer(book.readings, fills)
    every_charge = charges(book, odometer, fuel_totals(fills), depreciation_rate)
    cost = _used_in_each(months, [charge.total for charge in every_charge])
    lessons, minutes, private_miles = (_used_in_each(months, totals) for totals in _taught(book.teaching))
    return [
        Tally(
            service_days=days_in_service([book.service], month),
            true_cost=cost[index],
            miles=odometer.miles(month) or 0,
            private_miles=private_miles[index],
            minutes=minutes[index],
            lessons=lessons[index],
        )
        for index, month in enumerate(months)
    ]


def days_in_service(services: Iterable[Service], period: Period) -> int:
    """Return the number of days of ``period`` on which at least one car was in service."""
    count, counted_to = 0, period.first - ONE_DAY
    for service in sorted(services, key=lambda service: service.first):
        rest = Period(max(service.first, counted_to + ONE_DAY), service.last or period.last)
        days = overlap(rest, period)
        if days:
            count, counted_to = count + days_in(days), days.last
    return count


def _require_days(period: Period) -> None:
    if period.last < period.first:
        raise ValueError(f"a period cannot end on {period.last}, before it begins on {period.first}")


def _used_by_category(every: Iterable[Charge], period: Period) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return pence by category, sorted by name, and the categories that rest on an estimate."""
    before = period.first - ONE_DAY
    pence: dict[str, int] = {}
    estimated = set()
    for category, total, is_estimate in every:
        if total.last <= before or total.first > period.last:
            continue
        pence[category] = pence.get(category, 0) + total.by(period.last) - total.by(before)
        if is_estimate:
            estimated.add(category)
    return {name: pence[name] for name in sorted(pence) if pence[name]}, tuple(sorted(estimated))


def _used_in_each(months: Sequence[Period], totals: Iterable[RunningTotal]) -> list[int]:
    marks = sorted({day for month in months for day in (month.first - ONE_DAY, month.last)})
    used = dict(zip(marks, growth_at(totals, marks), strict=True))
    return [used[month.last] - used[month.first - ONE_DAY] for month in months]


def _taught(teaching: Iterable[Teaching]) -> Iterator[list[ByDays]]:
    """Yield the running totals of lessons, of minutes and of private miles."""
    records = list(teaching)
    yield [ByDays(record.from_on, record.to_on, record.lessons) for record in records]
    yield [ByDays(record.from_on, record.to_on, record.minutes) for record in records]
    yield [ByDays(record.from_on, record.to_on, record.private_miles) for record in records]


def _paid_in(book: CarBook, period: Period) -> int:
    return sum(cost.pence for cost in book.costs if period.first <= cost.paid_on <= period.last) + sum(
        fill.pence for fill in book.fills if period.first <= fill.filled_on <= period.last
    )
