"""The records that the costing core works on: one car's book as plain data.

Money is in whole pence, distance in whole miles, teaching time in whole minutes, and fuel or charge in whole
thousandths of its unit (millilitres or watt-hours). There are no floats.
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
    "Keeping",
    "Logged",
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
    """One sum paid, or refunded if negative, with the cover it bought (by days, by miles or none).

    ``key`` is that of its entry in the book.
    """

    paid_on: date
    category: str
    pence: int
    covers_from: date | None = None
    covers_to: date | None = None
    covers_miles: int | None = None
    ended_on: date | None = None
    key: int | None = None


class Fill(NamedTuple):
    """Fuel or charge bought: ``thousandths`` of a litre or kWh, ``brimmed`` if filled as full as it goes.

    ``is_anothers`` marks a fill that somebody else logged, of which a member's book holds only the day and the miles.
    ``key`` is that of its entry in the book.
    """

    filled_on: date
    odometer: int
    thousandths: int
    unit: Unit
    pence: int
    brimmed: bool
    gap_before: bool
    is_anothers: bool = False
    key: int | None = None


class Teaching(NamedTuple):
    """Lessons, lesson minutes and private miles over a span of days, both counted; None is not known.

    ``member`` is who taught; None is the car's keeper. ``key`` is that of its entry in the book.
    """

    from_on: date
    to_on: date
    lessons: int | None
    minutes: int | None
    private_miles: int | None
    member: int | None = None
    key: int | None = None


class Keeping(NamedTuple):
    """One member's time as keeper of the car, both days counted; ``last`` is None while it goes on.

    The times of a car never overlap: the day of a handover is the former keeper's.
    """

    keeper: int
    first: date
    last: date | None


class Logged(NamedTuple):
    """Days for which a member has a teaching record, in whichever car; both counted.

    ``car`` is its id, and ``minutes`` are what was taught in it: 0 without lessons, None if that is not told.
    """

    member: int
    from_on: date
    to_on: date
    car: int = 0
    minutes: int | None = 0


class Agreement(NamedTuple):
    """How the car is held from ``starts_on``; money is in pence, and ``payments`` is their number."""

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
        """The catalogue row of its kind."""
        return AGREEMENT_KINDS[self.kind]


class Valuation(NamedTuple):
    """What the car was worth, in pence, at the end of one day."""

    valued_on: date
    pence: int


class CarBook(NamedTuple):
    """Everything recorded for one car that affects a period; each tuple may be in any order.

    The car's own book (``whose`` is None) has everybody's records. A member's own book has that member's money, fills,
    teaching, agreements and valuations, and the whole car's readings, of which only those of the member's own times
    count. In it somebody else's fill, whose details are private, is a gap of zero: it still bounds the days that the
    fills beside it cover, and it breaks the chain from brim to brim.

    ``keepings`` are empty if one member has kept the car on all days. ``logged`` are the teaching records of its
    keepers in any car; None means that ``teaching`` has them all. Nothing is known beyond ``as_of``.
    """

    service: Service
    readings: tuple[Reading, ...] = ()
    costs: tuple[Cost, ...] = ()
    fills: tuple[Fill, ...] = ()
    teaching: tuple[Teaching, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    valuations: tuple[Valuation, ...] = ()
    keepings: tuple[Keeping, ...] = ()
    logged: tuple[Logged, ...] | None = None
    whose: int | None = None
    as_of: date = date.max
