"""The true cost of one car over a period, how it was used, and the cost of each use."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from costing.core.catalogue.costs import DEPRECIATION
from costing.core.charges import Charge, charges
from costing.core.economy import Economy, economy
from costing.core.keeping import days_with_a_car, that_count
from costing.core.missing import (
    Missing,
    OfRecord,
    Reason,
    lacks_readings,
    leaves_known,
    leaves_out_cost,
    leaves_out_value,
    leaves_whole,
    missing_economy,
    missing_use,
    of_lessons,
    unless_untold,
)
from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Period, Unit
from costing.core.shares import RunningTotal, growth_at
from costing.core.use import Use

#: What `RunningCost.estimated` calls miles that take a reading as level over a few days.
MILES = "miles"


def business_share(miles: int, private_miles: int) -> Fraction | None:
    """Return the part of ``miles`` that was not private; None without miles, or if more were private."""
    return Fraction(miles - private_miles, miles) if miles > 0 and private_miles <= miles else None


@dataclass(frozen=True)
class RunningCost:
    """One car over one period, in whole pence, miles and minutes. An absent figure is None.

    ``missing`` says why a figure is absent or rests on less than the whole period; ``estimated`` names the categories
    that rest on an estimate, and ``miles``. ``by_category`` leaves out categories of zero, and the loss of value of the
    whole period if it is unknown on one of its days. The three figures that divide are given only if ``is_known``:
    everything that they rest on has come in. ``known_until`` is the day for which that is so, whatever the period.
    ``is_borrowed``: the member only had the car on loan in the period. ``of_records`` are those of ``missing`` that lie
    in one record each.
    """

    period: Period
    miles: int | None
    private_miles: int | None
    lessons: int | None
    minutes: int | None
    by_category: dict[str, int]
    money_out: int
    litre_economy: Economy | None
    kwh_economy: Economy | None
    estimated: tuple[str, ...]
    missing: tuple[Missing, ...]
    is_known: bool
    is_borrowed: bool
    known_until: date | None
    of_records: tuple[OfRecord, ...] = ()

    @property
    def miles_shown(self) -> int | None:
        """The miles that readings show; None while they lack and so show none: that is not known, and no zero."""
        return self.miles or (None if lacks_readings(self.missing) else self.miles)

    @property
    def tells_lessons(self) -> bool:
        """Whether records tell how the car was used: while they lack and add up to nothing, that is not known."""
        return bool(self.lessons or self.minutes or self.private_miles) or not of_lessons(self.missing)

    @property
    def true_cost(self) -> int:
        """The cost of using the car, in pence: the sum of the categories."""
        return sum(self.by_category.values())

    @property
    def is_without_value(self) -> bool:
        """Whether the true cost leaves out the loss of value, because it is unknown."""
        return leaves_out_value(self.missing)

    @property
    def is_partial(self) -> bool:
        """Whether the true cost leaves something out that is not known."""
        return leaves_out_cost(self.missing)

    @property
    def business_share(self) -> Fraction | None:
        """The part of the miles that was not private, 0 to 1."""
        return None if self.private_miles is None else business_share(self.miles or 0, self.private_miles)

    @property
    def cost_per_mile(self) -> int | None:
        """Pence a mile, private miles included."""
        return divide_half_up(self.true_cost, self.miles) if self.is_known and self.miles else None

    @property
    def cost_per_lesson_hour(self) -> int | None:
        """Pence of the business share for each hour taught."""
        return self._for_each(Fraction(self.minutes or 0, 60))

    @property
    def cost_per_lesson(self) -> int | None:
        """Pence of the business share for each lesson given."""
        return self._for_each(Fraction(self.lessons or 0))

    def _for_each(self, uses: Fraction) -> int | None:
        share = self.business_share
        return divide_half_up(self.true_cost * share, uses) if self.is_known and share is not None and uses else None


class Tally(NamedTuple):
    """The sums of one car over one period that can be added up over periods and cars.

    They are days, pence, miles, minutes and lessons. Miles are 0 without any reading, and what is not told is 0.
    ``is_known`` and ``is_borrowed`` are as in `RunningCost`.
    """

    service_days: int
    true_cost: int
    miles: int
    private_miles: int
    minutes: int
    lessons: int
    is_known: bool
    is_borrowed: bool


def running_cost(book: CarBook, period: Period, *, depreciation_rate: Decimal) -> RunningCost:
    """Work out the true cost of a car over ``period``; ``depreciation_rate`` is yearly (0.15 = 15%).

    Raises ValueError if the period ends before it begins, if the rate is not from 0 to 1, or if a cover has no days or
    miles.
    """
    [cost] = running_costs(Use(book), [period], depreciation_rate=depreciation_rate)
    return cost


def running_costs(use: Use, periods: Sequence[Period], *, depreciation_rate: Decimal) -> list[RunningCost]:
    """Return the `running_cost` of each of ``periods``, in any order, by one pass over the book that ``use`` is of."""
    for period in periods:
        _require_days(period)
    every_charge = list(charges(use.spent, depreciation_rate))
    runs = {unit: list(use.stretches(unit)) for unit in {fill.unit for fill in use.fills}}
    taught = zip(*(_used_in_each(periods, totals) for totals in use.taught()), strict=True)

    def over(period: Period, used: dict[str, int], lessons: int, minutes: int, private_miles: int) -> RunningCost:
        of_records, miles = use.doubtful(period), use.miles(period)
        missing = use.lacking(period, of_records)
        estimated = _estimated(every_charge, that_count(use.book, period))
        if leaves_out_value(missing):
            used.pop(DEPRECIATION.name, None)
            estimated.discard(DEPRECIATION.name)
        if use.known.is_level_in(period):
            estimated.add(MILES)
        cost = RunningCost(
            period=period,
            miles=miles,
            private_miles=unless_untold(Reason.PRIVATE_MILES_UNTOLD, missing, private_miles),
            lessons=unless_untold(Reason.LESSONS_UNTOLD, missing, lessons),
            minutes=unless_untold(Reason.HOURS_UNTOLD, missing, minutes),
            by_category=used,
            money_out=use.paid_in(period),
            litre_economy=economy(runs["litre"], "litre", period) if "litre" in runs else None,
            kwh_economy=economy(runs["kwh"], "kwh", period) if "kwh" in runs else None,
            estimated=tuple(sorted(estimated)),
            missing=tuple(dict.fromkeys(missing)),
            is_known=leaves_known(missing),
            is_borrowed=use.known.is_borrowed_in(period),
            known_until=use.known.until,
            of_records=tuple(of_records),
        )
        if Missing(Reason.NOT_IN_SERVICE) in missing:
            return cost
        return replace(cost, missing=(*cost.missing, *_missing_of(cost, runs)))

    by_category = _used_by_category(every_charge, periods)
    return [over(period, used, *told) for period, used, told in zip(periods, by_category, taught, strict=True)]


def _missing_of(cost: RunningCost, bought: Iterable[Unit]) -> Iterator[Missing]:
    """Yield what is missing of the car's use, apart from what has not come in."""
    has_come_in = not of_lessons(cost.missing)
    lessons, minutes = (cost.lessons, cost.minutes) if has_come_in else (None, None)
    # Without the readings, that they show no miles says nothing.
    miles = None if lacks_readings(cost.missing) else cost.miles
    yield from missing_use(miles, cost.private_miles, lessons, minutes)
    known: list[Unit] = [each.unit for each in (cost.litre_economy, cost.kwh_economy) if each]
    yield from missing_economy(bought, known)


def monthly_tallies(book: CarBook, months: Sequence[Period], *, depreciation_rate: Decimal) -> list[Tally]:
    """Return the tally of each of ``months`` (any periods, in any order), with the figures of `running_cost`.

    Each component is a difference of running totals, so the tallies of months add up to the tally of their whole
    period; the loss of value is in them even where `running_cost` leaves it out. One pass over the book serves all
    months. Raises ValueError as `running_cost` does.
    """
    for month in months:
        _require_days(month)
    use = Use(book)
    every_charge = charges(use.spent, depreciation_rate)
    cost = _used_in_each(months, [charge.total for charge in every_charge])
    lessons, minutes, private_miles = (_used_in_each(months, totals) for totals in use.taught())
    return [
        Tally(
            service_days=days_with_a_car([book], month),
            true_cost=cost[index],
            miles=use.miles(month) or 0,
            private_miles=private_miles[index],
            minutes=minutes[index],
            lessons=lessons[index],
            is_known=leaves_whole(use.lacking(month, use.doubtful(month))),
            is_borrowed=use.known.is_borrowed_in(month),
        )
        for index, month in enumerate(months)
    ]


def _require_days(period: Period) -> None:
    if period.last < period.first:
        raise ValueError(f"a period cannot end on {period.last}, before it begins on {period.first}")


def _used_by_category(every: Iterable[Charge], periods: Sequence[Period]) -> list[dict[str, int]]:
    """Return the pence of each period by category, sorted by name, without those that come to nothing."""
    totals: dict[str, list[RunningTotal]] = defaultdict(list)
    for charge in every:
        totals[charge.category].append(charge.total)
    used: list[dict[str, int]] = [{} for _ in periods]
    for category in sorted(totals):
        for by_category, pence in zip(used, _used_in_each(periods, totals[category]), strict=True):
            if pence:
                by_category[category] = pence
    return used


def _estimated(every: Iterable[Charge], spans: Sequence[Period]) -> set[str]:
    """Return the categories that rest on an estimate in ``spans`` of days."""
    return {
        charge.category
        for charge in every
        if charge.estimated and any(charge.total.first <= last and charge.total.last >= first for first, last in spans)
    }


def _used_in_each(months: Sequence[Period], totals: Iterable[RunningTotal]) -> list[int]:
    marks = sorted({day for month in months for day in (month.first - ONE_DAY, month.last)})
    used = dict(zip(marks, growth_at(totals, marks), strict=True))
    return [used[month.last] - used[month.first - ONE_DAY] for month in months]
