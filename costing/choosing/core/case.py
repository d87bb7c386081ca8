"""What a comparison rests on: how the car is used, what running it costs, and the offers as quoted.

Money is in whole pence. Counts and rates are exact `Fraction`s, and so is money that has been worked out but not yet
rounded.
"""

from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal, NamedTuple, cast

from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind, AtEnd, Frequency
from costing.core.catalogue.running import RunningPart
from costing.core.periods import ONE_DAY
from fleet.core.days import add_months
from fleet.core.mot import first_mot_due

#: Two years of weekly rental are counted as 104 weeks.
WEEKS_A_MONTH = Fraction(52, 12)


class Use(NamedTuple):
    """How the car will be used. ``months`` is the horizon, the same for every offer; the price is pence an hour.

    ``nation`` is the co-op's, ``GB`` or ``NI``: it decides at what age a car needs an MOT.
    """

    starts_on: date
    months: int
    miles_per_year: Fraction
    private_miles_per_year: Fraction
    lesson_hours_per_week: Fraction
    weeks_taught_per_year: Fraction
    lesson_hour_price: int
    discount_rate: Fraction = Fraction(0)
    marginal_tax_rate: Fraction = Fraction(0)
    nation: str = "GB"

    @property
    def business_share(self) -> Fraction:
        """The share of the miles that isn't private; zero if fewer miles are driven than were planned as private."""
        return max(Fraction(0), 1 - self.private_miles_per_year / self.miles_per_year)


class Running(NamedTuple):
    """What running a car costs if the offer leaves it out, in pence. ``insurance`` is by year; its last goes on."""

    fuel_pence_per_mile: Fraction = Fraction(0)
    insurance: tuple[int, ...] = ()
    vehicle_tax_per_year: int = 0
    breakdown_per_year: int = 0
    mot: int = 0
    servicing_per_year: int = 0
    repairs_per_year: int = 0
    tyre_set: int = 0
    tyre_set_miles: Fraction = Fraction(25_000)
    fit_out: int = 0
    one_repair: int = 0  # a single big repair, half-way through

    def of(self, part: RunningPart) -> Any:
        """The figure for one part: pence, a fraction of pence a mile, or pence by year."""
        return getattr(self, part.key)

    def life_of(self, part: RunningPart) -> Fraction:
        """How many miles a set lasts."""
        return cast(Fraction, getattr(self, part.life_key))


class EarlyExit(NamedTuple):
    """What it costs to leave a hire before its term ends: some weeks' payments, or a share of the payments left."""

    kind: Literal["weeks", "share_of_remaining"]
    value: Fraction


class Offer(NamedTuple):
    """One way of getting a car, on the terms quoted. Payments fall at the end of each month or week."""

    name: str
    kind: str
    first_registered: date | None = None
    price: int = 0
    deposit: int = 0
    payment: int = 0
    payments: int = 0
    frequency: Frequency = "month"
    final_payment: int = 0
    fees: int = 0
    quoted_apr: Fraction | None = None
    value_at_horizon: int = 0
    at_end: AtEnd = "sell"
    mileage_allowance: Fraction | None = None
    excess_pence_per_mile: Fraction = Fraction(0)
    damage: int = 0
    includes: frozenset[str] = frozenset()
    pauses_when_off: bool = False
    early_exit: EarlyExit | None = None

    @property
    def way(self) -> AgreementKind:
        """Its kind's row in the catalogue."""
        return AGREEMENT_KINDS[self.kind]

    @property
    def is_credit(self) -> bool:
        return self.way.is_credit

    @property
    def is_hire(self) -> bool:
        return self.way.is_hire

    def needs_mot(self, on: date, nation: str) -> bool:
        """Whether the car needs an MOT on the day ``on``; it does if nobody knows when it was first registered."""
        return self.first_registered is None or first_mot_due(self.first_registered, nation) <= on


class WeeksOff(NamedTuple):
    """``weeks`` without lessons, beginning in week ``from_week`` from the start."""

    from_week: int
    weeks: int


class Scenario(NamedTuple):
    """One course of events in which the offers are worked out: the use, the running costs, and any weeks off.

    ``years`` and ``weeks_a_month`` are fields so that the odds can put in floats.
    """

    use: Use
    running: Running
    off: WeeksOff | None = None
    years: Fraction = Fraction(0)
    weeks_a_month: Fraction = WEEKS_A_MONTH

    @property
    def months(self) -> int:
        return self.use.months

    @property
    def whole_weeks(self) -> int:
        """The whole weeks of the horizon, at 52 a year."""
        return self.months * 52 // 12

    @property
    def taught_years(self) -> Fraction:
        """The years of the horizon, less the weeks off as a share of a year's teaching; never below zero."""
        weeks_off = self.off.weeks if self.off else 0
        return self.years - min(self.years, weeks_off / self.use.weeks_taught_per_year)

    @property
    def miles(self) -> Fraction:
        return self.use.miles_per_year * self.taught_years

    @property
    def lesson_hours(self) -> Fraction:
        return self.use.lesson_hours_per_week * self.use.weeks_taught_per_year * self.taught_years

    def end_of(self, month: int) -> date:
        """The day on which month ``month`` from the start ends."""
        return add_months(self.use.starts_on, month)

    def month_of_week(self, week: int) -> int:
        """The month in which a payment at the end of week ``week`` falls; the start is week 0 and month 0.

        A short quarter ends before its thirteenth week does, so that week is paid with its last month.
        """
        return min(_month_of_week(self.use.starts_on, week), self.months)

    def months_of_weeks(self, first: int, last: int) -> tuple[int, ...]:
        """The month of each week from ``first`` to ``last``."""
        return _months_of_weeks(self.use.starts_on, self.months, first, last)


@lru_cache(maxsize=1024)
def _months_of_weeks(start: date, most: int, first: int, last: int) -> tuple[int, ...]:
    return tuple(min(_month_of_week(start, week), most) for week in range(first, last + 1))


@lru_cache(maxsize=4096)
def _month_of_week(start: date, week: int) -> int:
    """The first month that ends on or after the day ``week`` weeks after ``start``."""
    day = start + 7 * week * ONE_DAY
    month = max(0, (day.year - start.year) * 12 + day.month - start.month - 1)
    while add_months(start, month) < day:
        month += 1
    return month


def scenario(use: Use, running: Running, *, off: WeeksOff | None = None, leave_at_month: int | None = None) -> Scenario:
    """Make a scenario; ``leave_at_month`` takes the place of the horizon, and weeks off after it are left out."""
    if leave_at_month is not None:
        use = use._replace(months=leave_at_month)
    planned = Scenario(use, running, years=Fraction(use.months, 12))
    if off is None:
        return planned
    inside = max(0, planned.whole_weeks - off.from_week + 1)
    return planned._replace(off=off._replace(weeks=min(off.weeks, inside)))


class WhatIf(NamedTuple):
    """Something that could happen to the plan. A number that is left at its default changes nothing."""

    name: str
    off: WeeksOff | None = None
    leave_at_month: int | None = None
    more_miles: Fraction = Fraction(0)  # as a share of the yearly miles: 0.2 is a fifth more
    one_repair: int = 0
    damage: int | None = None


class Uncertain(NamedTuple):
    """A range for one input, in its own unit: pence, miles, months or weeks. ``offer`` is "" or names the one offer."""

    input: str
    low: Fraction
    likely: Fraction
    high: Fraction
    offer: str = ""


class Case(NamedTuple):
    """Everything that a comparison rests on."""

    use: Use
    running: Running
    offers: tuple[Offer, ...]
    what_ifs: tuple[WhatIf, ...] = ()
    uncertain: tuple[Uncertain, ...] = ()

    @property
    def scenario(self) -> Scenario:
        """What happens if everything goes as planned."""
        return scenario(self.use, self.running)
