"""What a comparison rests on: the use of the car, what running it costs, and the offers as quoted.

Money is whole pence; what is counted or rated is an exact `Fraction`, and so is any money that is worked out
before its one rounding.
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
    """How the car will be used: ``months`` is the horizon, the same for every offer; the price is pence an hour.

    ``nation``, ``GB`` or ``NI``, is the co-op's: it says from which age a car needs an MOT.
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
        """The part of the miles that are not private; nothing where fewer are driven than were to be private."""
        return max(Fraction(0), 1 - self.private_miles_per_year / self.miles_per_year)


class Running(NamedTuple):
    """What a car costs where the offer does not include it, in pence; ``insurance`` by year, its last going on."""

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
    one_repair: int = 0  # a single large one, half-way through

    def of(self, part: RunningPart) -> Any:
        """The figure of one part: pence, an exact fraction of pence a mile, or pence by year."""
        return getattr(self, part.key)

    def life_of(self, part: RunningPart) -> Fraction:
        """The miles that a set lasts."""
        return cast(Fraction, getattr(self, part.life_key))


class EarlyExit(NamedTuple):
    """What leaving a hire before its term ends costs: so many weeks' payments, or a share of what remains."""

    kind: Literal["weeks", "share_of_remaining"]
    value: Fraction


class Offer(NamedTuple):
    """One way of getting a car, on the terms quoted; payments fall at the end of each month or week."""

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
        """The row of its kind."""
        return AGREEMENT_KINDS[self.kind]

    @property
    def is_credit(self) -> bool:
        return self.way.is_credit

    @property
    def is_hire(self) -> bool:
        return self.way.is_hire

    def needs_mot(self, on: date, nation: str) -> bool:
        """Whether the car is old enough for an MOT on ``on``; so is one whose first registration is not known."""
        return self.first_registered is None or first_mot_due(self.first_registered, nation) <= on


class WeeksOff(NamedTuple):
    """Weeks without lessons: ``weeks`` of them, the first being the ``from_week``-th from the start."""

    from_week: int
    weeks: int


class Scene(NamedTuple):
    """One course of events for which offers are worked out: the use and the costs, and what comes between.

    ``years`` and ``weeks_a_month`` are fields so that many draws at once can bring theirs as floats.
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
        """The whole weeks of the horizon, 52 a year."""
        return self.months * 52 // 12

    @property
    def taught_years(self) -> Fraction:
        """The years of the horizon less what the weeks off are of a year's teaching, at the most all of them."""
        weeks_off = self.off.weeks if self.off else 0
        return self.years - min(self.years, weeks_off / self.use.weeks_taught_per_year)

    @property
    def miles(self) -> Fraction:
        return self.use.miles_per_year * self.taught_years

    @property
    def lesson_hours(self) -> Fraction:
        return self.use.lesson_hours_per_week * self.use.weeks_taught_per_year * self.taught_years

    def end_of(self, month: int) -> date:
        """The day on which the ``month``-th month ends, counted from the start."""
        return add_months(self.use.starts_on, month)

    def month_of_week(self, week: int) -> int:
        """The month in which a payment at the end of the ``week``-th week falls, the start being both nought.

        A short quarter ends before its thirteenth week does: that is paid with its last month.
        """
        return min(_month_of_week(self.use.starts_on, week), self.months)

    def months_of_weeks(self, first: int, last: int) -> tuple[int, ...]:
        """The same of every week from ``first`` to ``last``."""
        return _months_of_weeks(self.use.starts_on, self.months, first, last)


@lru_cache(maxsize=1024)
def _months_of_weeks(start: date, most: int, first: int, last: int) -> tuple[int, ...]:
    return tuple(min(_month_of_week(start, week), most) for week in range(first, last + 1))


@lru_cache(maxsize=4096)
def _month_of_week(start: date, week: int) -> int:
    """The first month whose end is on or after the day that lies ``week`` weeks after ``start``."""
    day = start + 7 * week * ONE_DAY
    month = max(0, (day.year - start.year) * 12 + day.month - start.month - 1)
    while add_months(start, month) < day:
        month += 1
    return month


def scene(use: Use, running: Running, *, off: WeeksOff | None = None, leave_at_month: int | None = None) -> Scene:
    """A course of events; ``leave_at_month`` puts that month in the place of the horizon.

    Weeks off after that are left out.
    """
    if leave_at_month is not None:
        use = use._replace(months=leave_at_month)
    planned = Scene(use, running, years=Fraction(use.months, 12))
    if off is None:
        return planned
    inside = max(0, planned.whole_weeks - off.from_week + 1)
    return planned._replace(off=off._replace(weeks=min(off.weeks, inside)))


class WhatIf(NamedTuple):
    """Something that could happen, held against the base case; the numbers left as they are change nothing."""

    name: str
    off: WeeksOff | None = None
    leave_at_month: int | None = None
    more_miles: Fraction = Fraction(0)  # a share of the miles a year: 0.2 is a fifth more
    one_repair: int = 0
    damage: int | None = None


class Uncertain(NamedTuple):
    """An input of which no more is known than low, likely and high; of one offer where ``offer`` names it.

    In the input's own unit: pence, miles, months, weeks.
    """

    input: str
    low: Fraction
    likely: Fraction
    high: Fraction
    offer: str = ""


class Case(NamedTuple):
    """Everything a comparison rests on."""

    use: Use
    running: Running
    offers: tuple[Offer, ...]
    what_ifs: tuple[WhatIf, ...] = ()
    uncertain: tuple[Uncertain, ...] = ()

    @property
    def scene(self) -> Scene:
        """The base case: as planned, nothing between."""
        return scene(self.use, self.running)
