"""The records the costing core works on: one car's book as plain data.

Money is whole pence, distance whole miles, teaching time whole minutes, and what was put in
the tank whole thousandths of its unit (millilitres or watt-hours): no floats anywhere.
"""

from datetime import date
from typing import Literal, NamedTuple

from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind, Frequency
from fleet.core.odometer import Reading

__all__ = [
    "Agreement",
    "CarBook",
    "Cost",
    "Fill",
    "Frequency",
    "Period",
    "Reading",
    "Service",
    "Teaching",
    "Unit",
    "Valuation",
]

Unit = Literal["litre", "kwh"]


class Period(NamedTuple):
    """A span of days, both counted."""

    first: date
    last: date


class Service(NamedTuple):
    """The days a car was in service for tuition, both counted; ``last`` is None while it still is."""

    first: date
    last: date | None


class Cost(NamedTuple):
    """One sum paid, or refunded if negative, with the cover it bought (by days, by miles or none)."""

    paid_on: date
    category: str
    pence: int
    covers_from: date | None = None
    covers_to: date | None = None
    covers_miles: int | None = None
    ended_on: date | None = None


class Fill(NamedTuple):
    """Fuel or charge bought; ``thousandths`` of a litre or kWh, ``brimmed`` when filled as full as it goes.

    ``is_anothers``: in one member's book, it is a fill of somebody else, of which only its day and miles are told.
    """

    filled_on: date
    odometer: int
    thousandths: int
    unit: Unit
    pence: int
    brimmed: bool
    gap_before: bool
    is_anothers: bool = False


class Teaching(NamedTuple):
    """Lessons, lesson minutes and private miles over a span of days, both counted."""

    from_on: date
    to_on: date
    lessons: int
    minutes: int
    private_miles: int


class Agreement(NamedTuple):
    """How the car is held from ``starts_on``; money in pence, ``payments`` their number."""

    starts_on: date
    kind: str
    price: int | None = None
    deposit: int = 0
    payment: int = 0
    payments: int = 0
    frequency: Frequency = "month"
    final_payment: int = 0
    fees: int = 0

    @property
    def way(self) -> AgreementKind:
        """The row of its kind."""
        return AGREEMENT_KINDS[self.kind]


class Valuation(NamedTuple):
    """What the car was worth, in pence, at the end of one day."""

    valued_on: date
    pence: int


class CarBook(NamedTuple):
    """All that is recorded of one car and bears on a period; each tuple in any order.

    A fill of somebody else whose records are not to be told comes as a gap of nothing: it still bounds the days its
    neighbours cover, and breaks the chain from brim to brim.
    """

    service: Service
    readings: tuple[Reading, ...] = ()
    costs: tuple[Cost, ...] = ()
    fills: tuple[Fill, ...] = ()
    teaching: tuple[Teaching, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    valuations: tuple[Valuation, ...] = ()
