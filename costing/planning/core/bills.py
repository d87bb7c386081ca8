"""The bills that are coming: each with its day, its sum, where both come from, and what is not known of any.

Nothing unknown is taken as nothing: a bill whose sum or day is not known is told beside those that are.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY, days_in, month_of
from costing.core.records import Period
from fleet.core.days import add_months

#: No cover is renewed more often than this many times a year, and nothing is looked for further ahead.
_MONTHS_AHEAD = 12


class Source(StrEnum):
    """How the sum of a bill is known."""

    QUOTE = "quote"  # a price that the member typed for what falls due
    TYPED = "typed"  # a bill that the member typed, with its day
    LAST_PRICE = "last_price"
    LAST_PAYMENTS = "last_payments"  # what the payments of the last cover came to
    WEEKLY = "weekly"  # as the last cover was paid
    MONTHLY = "monthly"
    QUARTERLY = "quarterly"
    REPEAT = "repeat"
    INSTALMENT = "instalment"
    ROLLS = "rolls"  # a hire goes on past its term at its payment
    DEPOSIT = "deposit"
    FINAL = "final"


class DayFrom(StrEnum):
    """How the day of a bill is known."""

    RECORDED = "recorded"
    BOOKED = "booked"
    RULE = "rule"  # the law's first MOT
    MILES = "miles"  # foretold from the odometer
    TREAD = "tread"  # foretold from the tread of the tyres
    TERMS = "terms"  # by the terms of an agreement, of what repeats, or as typed


class Lacks(StrEnum):
    """What is not known of a bill."""

    PRICE = "price"
    DAY = "day"
    TERMS = "terms"
    FITTED = "fitted"  # a set of tyres was paid for that the book does not have as fitted
    AGREEMENT = "agreement"  # it was paid of late, and nothing says what is still to come


class Bill(NamedTuple):
    """One sum in pence that leaves the pot ``on`` a day. ``title`` says what it is for, ``of`` the mark of its car.

    ``category`` is that of the cost it will be logged under; "" if it is none of a car. ``told_on`` is the day of the
    price, ``was_due_on`` the day of what is late and so falls today. It is the ``number``-th ``out_of`` so many
    payments, or was paid last in so many ``parts``, for so many ``months`` of cover (0: for none). Of ``were_due``
    instalments before it, ``logged`` are in the book. It ``pauses`` while its payer is ill. It ``may_go_back``: the
    member may hand the car back instead.
    """

    on: date
    pence: int
    title: str
    source: Source
    of: str = ""
    category: str = ""
    day: DayFrom = DayFrom.TERMS
    told_on: date | None = None
    was_due_on: date | None = None
    number: int = 0
    out_of: int = 0
    parts: int = 1
    months: int = 0
    were_due: int = 0
    logged: int = 0
    pauses: bool = False
    may_go_back: bool = False


class NotKnown(NamedTuple):
    """A bill of which something is not known; ``kind`` is the name of what falls due, ``on`` its day if that is.

    ``day`` says how that is known, ``was_due_on`` is the day of what is late. ``quote`` is the key of the member's own
    quote for it, if that is known and its day is not. ``paid_on`` is the day of what was paid but is not fitted.
    """

    title: str
    of: str
    kind: str
    lacks: Lacks
    on: date | None = None
    day: DayFrom = DayFrom.RECORDED
    was_due_on: date | None = None
    quote: int | None = None
    paid_on: date | None = None


class Idle(StrEnum):
    """Why a quote does not count."""

    NEWER = "newer"  # a newer one for the same thing does
    OWN = "own"  # it is for all cars, and the car has one of its own
    REPEATS = "repeats"  # what repeats pays for it
    PAID = "paid"  # it was paid since


class IdleQuote(NamedTuple):
    """That a quote does not count, for which cars (their marks), and why; None if for each of them for another reason.

    ``instead`` is the key of the quote that counts in its place, if one does, and ``pence`` its sum. ``is_idle``: it
    counts for no other car either.
    """

    why: Idle | None
    of: tuple[str, ...] = ()
    instead: int | None = None
    pence: int = 0
    is_idle: bool = True


class Bills(NamedTuple):
    """Those that are known, by day, and those that are not; by key, the quotes that do not count.

    ``days_before`` are, by key, the days of quotes that have none of their own but one before them had.
    """

    known: tuple[Bill, ...]
    not_known: tuple[NotKnown, ...] = ()
    idle: Mapping[int, IdleQuote] = MappingProxyType({})
    days_before: Mapping[int, date] = MappingProxyType({})


class Price(NamedTuple):
    """What something cost last, in so many ``payments``, or is quoted at; ``lasts`` and ``miles`` are the cover that it
    bought. It is ``told_on`` the day of the first payment of a term; of anything else and of what repeats, the last.
    """

    pence: int
    source: Source
    told_on: date | None = None
    lasts: Period | None = None
    miles: int | None = None
    payments: int = 1


class Due(NamedTuple):
    """What falls due: its next day, if that is known, and after how many months or days it comes again.

    ``paid_on`` is the day on which it was paid, where the book does not have what was bought as fitted: then it has no
    next day.
    """

    kind: str
    title: str
    of: str
    category: str
    on: date | None
    day: DayFrom = DayFrom.RECORDED
    every_months: int | None = None
    every_days: int | None = None
    paid_on: date | None = None


#: What is paid for may be entered as fitted so long before. Common practice, no source.
_PAID_AFTER_FITTING = timedelta(days=31)


def is_not_fitted(paid_on: date | None, read_on: date | None, fitted_on: date | None) -> bool:
    """Say whether tyres were paid for after the set in the book was last read or fitted: a new one, for all one knows.

    False if none is in the book, or none was paid for.
    """
    known = [*([read_on] if read_on else []), *([fitted_on + _PAID_AFTER_FITTING] if fitted_on else [])]
    return paid_on is not None and bool(known) and paid_on > max(known)


def year_from(today: date) -> Period:
    """Return the 12 months that begin today."""
    return Period(today, add_months(today, _MONTHS_AHEAD) - ONE_DAY)


def months_of_cover(cover: Period) -> int:
    """Return for how many months a cover runs, to the nearest, one at least: a year has 365 days and a quarter."""
    return max(1, divide_half_up(Fraction(4 * _MONTHS_AHEAD * days_in(cover), 4 * 365 + 1), 1))


def bills_of_due(due: Due, price: Price | None, year: Period) -> Iterator[Bill | NotKnown]:
    """Yield the bills of one due item within ``year``; what is late falls on its first day.

    A price of nothing, as typed, is known: nothing is to be paid. Without a price, or without a day, one unknown is
    yielded. What bought cover comes again when as much cover is over: one that ends with a month ends so again.
    """
    if price is not None and price.pence == 0:
        return
    if due.on is None:
        lacks = Lacks.FITTED if due.paid_on else Lacks.DAY
        yield NotKnown(due.title, due.of, due.kind, lacks, paid_on=due.paid_on)
        return
    first = max(due.on, year.first)
    if first > year.last:
        return
    if price is None:
        late = due.on if due.on < first else None
        yield NotKnown(due.title, due.of, due.kind, Lacks.PRICE, first, due.day, late)
        return
    covers = months_of_cover(price.lasts) if price.lasts else 0
    every = covers or due.every_months
    is_month_end = price.lasts is not None and first == due.on == month_of(first).last
    days = _days(first, every, due.every_days, year.last, is_month_end=is_month_end)
    for on, is_by_miles in days:
        yield Bill(
            *(on, price.pence, due.title, price.source, due.of, due.category),
            day=DayFrom.MILES if is_by_miles else due.day,
            told_on=price.told_on,
            was_due_on=due.on if on == first and due.on < first else None,
            parts=price.payments,
            months=covers,
        )


def _days(
    first: date, months: int | None, days: int | None, last: date, *, is_month_end: bool
) -> Iterator[tuple[date, bool]]:
    """Yield the day, and each on which it comes again: after so many months or days, whichever is first.

    Beside each, whether it follows from the days: those from the miles. Months are counted from the first day, or from
    the last that followed from the days, so that the 31st comes again after a short month; what ends on the last day of
    a month ends so in every month.
    """
    on, is_by_days, since, number = first, False, first, 0
    while on <= last:
        yield on, is_by_days
        number += 1
        by_months = add_months(since, number * months) if months else date.max
        if is_month_end and months:
            by_months = month_of(by_months).last
        by_days = on + timedelta(days=days) if days else date.max
        on, is_by_days = min((by_months, False), (by_days, True))
        if is_by_days:
            since, number = on, 0


def typed_day(on: date, year: Period, *, is_yearly: bool) -> date | None:
    """Return on which day of ``year`` a bill falls that was typed for ``on``: its anniversary if it comes every year.

    None if it does not fall in it: a bill of a day that has passed is taken as paid.
    """
    if is_yearly and on < year.first:
        years = year.first.year - on.year
        anniversaries = (add_months(on, _MONTHS_AHEAD * (years + more)) for more in (0, 1))
        on = next(day for day in anniversaries if day >= year.first)
    return on if year.first <= on <= year.last else None


def in_order(found: Iterable[Bill | NotKnown]) -> Bills:
    """Return them apart, each by day; of the same day the dearest first."""
    known, not_known = [], []
    for one in found:
        if isinstance(one, Bill):
            known.append(one)
        else:
            not_known.append(one)
    known.sort(key=lambda bill: (bill.on, -bill.pence, bill.title, bill.of))
    not_known.sort(key=lambda one: (one.on is None, one.on or date.max, one.title, one.of))
    return Bills(tuple(known), tuple(not_known))
