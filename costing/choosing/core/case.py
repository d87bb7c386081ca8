"""What a comparison rests on: how the car is used, what running it costs, and the offers as quoted.

Money is in whole pence. Counts and rates are exact `Fraction`s. None is what nobody has told, which is never nothing.
"""

from datetime import date
from fractions import Fraction
from typing import Literal, NamedTuple

from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind, AtEnd, Frequency, Then
from costing.core.economy import LITRES_PER_GALLON

_LITRES_A_GALLON = Fraction(LITRES_PER_GALLON)

OnLeaving = Literal["cheapest", "settle", "half_rule"]


class Chance(NamedTuple):
    """How likely one is to leave at the end of ``month``."""

    month: int
    chance: Fraction


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
    cash_in_hand: int | None = None
    put_by_per_month: int | None = None
    leaving: tuple[Chance, ...] = ()
    nation: str = "GB"

    @property
    def may_leave(self) -> bool:
        """Whether there is a chance that one leaves before the horizon."""
        return any(one.chance and one.month < self.months for one in self.leaving)


class Fuel(NamedTuple):
    """One fuel that a car burns, on ``share`` of its miles.

    ``price`` is pence a mile, a litre or a kWh; ``economy`` is miles to the imperial gallon or to the kWh.
    """

    price: Fraction
    unit: Literal["mile", "litre", "kwh"] = "mile"
    economy: Fraction = Fraction(1)
    share: Fraction = Fraction(1)

    @property
    def pence_per_mile(self) -> Fraction:
        """What a mile costs on this fuel."""
        if self.unit == "litre":
            return self.price * _LITRES_A_GALLON.numerator / (_LITRES_A_GALLON.denominator * self.economy)
        return self.price / self.economy


class Running(NamedTuple):
    """What running a car costs where the offer doesn't include it, in pence; None is not told.

    ``insurance`` is by year, never empty, and its last goes on. In an offer's own table None means: as the common
    table says.
    """

    fuel: tuple[Fuel, ...] | None = None
    insurance: tuple[int, ...] | None = None
    insurance_given_back: Fraction | None = None  # the share of the months left that the insurer pays back
    vehicle_tax_per_year: int | None = None
    breakdown_per_year: int | None = None
    mot: int | None = None
    servicing_per_year: int | None = None
    repairs_per_year: int | None = None
    tyre_set: int | None = None
    tyre_set_miles: Fraction | None = None
    fit_out: int | None = None


class EarlyExit(NamedTuple):
    """What it costs to leave a hire before its term ends: some weeks' payments, or a share of the payments left."""

    kind: Literal["weeks", "share_of_remaining"]
    value: Fraction


class Offer(NamedTuple):
    """One way of getting a car, on the terms quoted. Payments fall at the end of each month or week."""

    name: str
    kind: str
    first_registered: date | None = None
    price: int | None = None
    deposit: int = 0
    payment: int = 0
    payments: int = 0
    frequency: Frequency = "month"
    final_payment: int = 0
    fees: int = 0
    quoted_apr: Fraction | None = None
    value_now: int | None = None
    value_at_horizon: int | None = None
    at_end: AtEnd | None = None
    on_leaving: OnLeaving = "cheapest"
    half_rule: bool | None = None
    mileage_allowance: Fraction | None = None
    excess_pence_per_mile: Fraction | None = None
    damage: int | None = None
    includes: frozenset[str] = frozenset()
    running: Running = Running()
    early_exit: EarlyExit | None = None
    deposit_comes_back: bool = False
    then: Then | None = None
    pauses_when_off: bool = False

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

    @property
    def credit(self) -> int:
        """What is lent: the price less the deposit."""
        return (self.price or 0) - self.deposit

    @property
    def renews(self) -> bool:
        """Whether a hire past its term begins another on the same terms; if not, its payments just go on."""
        return (self.then or self.way.then) == "renew"


class WeeksOff(NamedTuple):
    """``weeks`` without lessons, beginning in week ``from_week`` from the start."""

    from_week: int
    weeks: int


class WhatIf(NamedTuple):
    """Something that could happen to the plan. What is left at its default changes nothing."""

    name: str
    off: WeeksOff | None = None
    leave_at_month: int | None = None
    more_miles: Fraction = Fraction(0)  # as a share of the yearly miles: 0.2 is a fifth more
    one_repair: int | None = None
    damage: int | None = None


class Spread(NamedTuple):
    """How far a figure may go, in its own unit: pence, miles, months or weeks."""

    low: Fraction
    likely: Fraction
    high: Fraction


class Uncertain(NamedTuple):
    """The range of one input, named by its key in a document.

    ``spreads`` holds one, but for insurance one a year, all drawn at one quantile. ``offer`` names the one offer it is
    for, or is "" for the common figure. ``at`` says which of two fuels.
    """

    input: str
    spreads: tuple[Spread, ...]
    offer: str = ""
    at: int = 0


class Case(NamedTuple):
    """Everything that a comparison rests on."""

    use: Use
    running: Running
    offers: tuple[Offer, ...]
    what_ifs: tuple[WhatIf, ...] = ()
    uncertain: tuple[Uncertain, ...] = ()

    def running_of(self, offer: Offer) -> Running:
        """The running costs of one offer: the common table with the offer's own laid over it."""
        own = {key: value for key, value in offer.running._asdict().items() if value is not None}
        return self.running._replace(**own)
