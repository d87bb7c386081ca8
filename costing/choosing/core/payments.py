"""What is paid for the car itself until one leaves, and the cash flow whose items all sums of an offer become.

Months run from 0 to m: month 0 is the start, month k is the end of the k-th, and in month m one leaves. An item's
amount stays exact until it is placed in its months. It is then rounded half up once, and a sum shared over the months
follows `shares.share`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from costing.choosing.core.case import Offer
from costing.choosing.core.course import Course, or_nothing
from costing.core.catalogue.agreements import DEPOSIT, DEPOSIT_BACK, FEES, FINAL_PAYMENT, PAYMENTS, PRICE, PaidBy
from costing.core.finance import PERIODS_PER_YEAR
from costing.core.money import divide_half_up
from costing.core.shares import share


class CashFlowItem(NamedTuple):
    """One sum of an offer: ``amount`` / ``over`` pence fall due in each of ``months``, below zero if they come back.

    Without months it is a single sum, shared over every month after the start. ``part`` says what it pays for. It stays
    exact until it is rounded, half up and once.
    """

    part: str
    amount: Fraction | int
    months: tuple[int, ...] | None = None
    over: Fraction | int = 1

    @property
    def pence(self) -> int:
        """Whole pence in each month, or in all if it is shared."""
        return divide_half_up(self.amount, self.over)

    @property
    def times(self) -> int:
        return 1 if self.months is None else len(self.months)

    @property
    def total(self) -> int:
        return self.pence * self.times


class CashFlow(NamedTuple):
    """Pence told for each month from 0 to m, and for each part; money that comes back is below zero."""

    months: tuple[int, ...]
    parts: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.months)


def place(items: Iterable[CashFlowItem], last: int) -> CashFlow:
    """Put each item into its months, in whole pence."""
    months, parts = [0] * (last + 1), dict[str, int]()
    for item in items:
        pence = item.pence
        if not pence:
            continue
        if item.months is None:
            for month, of_month in enumerate(_monthly(pence, last), 1):
                months[month] += of_month
        else:
            for month in item.months:
                months[month] += pence
        parts[item.part] = parts.get(item.part, 0) + pence * item.times
    return CashFlow(tuple(months), {part: pence for part, pence in parts.items() if pence})


@lru_cache(maxsize=1024)
def _monthly(pence: int, months: int) -> tuple[int, ...]:
    """A sum shared over so many months."""
    return tuple(now - before for before, now in pairwise(share(pence, month, months) for month in range(months + 1)))


def could_fall(offer: Offer, course: Course) -> int:
    """How many payments would fall due by the month one leaves if the agreement went on for ever."""
    return course.whole_weeks if offer.frequency == "week" else course.months


def payments_made(offer: Offer, course: Course) -> int:
    """How many payments fall due by the month one leaves."""
    falling = could_fall(offer, course)
    return falling if offer.is_hire else min(offer.payments, falling)


def payments_left(offer: Offer, course: Course) -> int:
    """How many payments of the term are still to come; none if a term ends then, or if there is no further term."""
    falling = could_fall(offer, course)
    return -falling % offer.payments if offer.renews else max(0, offer.payments - falling)


def ends_now(offer: Offer, course: Course) -> bool:
    """Whether the term of a credit agreement ends in the month in which one leaves."""
    return offer.payments == could_fall(offer, course)


def years_of_term(offer: Offer) -> Fraction:
    """The length of a term, at 12 months or 52 weeks a year."""
    return Fraction(offer.payments, PERIODS_PER_YEAR[offer.frequency])


def payment_items(offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    """What is paid for the car until one leaves: price or deposits, payments, fees, and a final payment by then."""
    yield from _PAYMENT_ITEMS[offer.way.paid_by](offer, course)


def _price(offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield CashFlowItem(PRICE.name, or_nothing(offer.price), (0,))


def _of_credit(offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    yield from _instalments(offer, course, [0])
    if offer.payments < could_fall(offer, course) or (ends_now(offer, course) and not offer.way.has_choice_of_end):
        yield CashFlowItem(FINAL_PAYMENT.name, offer.final_payment, _months(offer, course, [offer.payments]))


def _of_hire(offer: Offer, course: Course) -> Iterator[CashFlowItem]:
    begun = range(0, could_fall(offer, course), offer.payments) if offer.renews else [0]
    yield from _instalments(offer, course, begun)
    weeks = len(course.weeks_off)
    if offer.pauses_when_off and weeks:
        if offer.frequency == "week":
            months = course.months_of_weeks(course.weeks_off.start, course.weeks_off.stop - 1)
            yield CashFlowItem(PAYMENTS.name, -offer.payment, months)
        else:
            yield CashFlowItem(PAYMENTS.name, -offer.payment * weeks * 12, (course.months,), over=52)
    if offer.deposit_comes_back:
        yield CashFlowItem(DEPOSIT_BACK.name, -offer.deposit * len(begun), (course.months,))


_PAYMENT_ITEMS: Mapping[PaidBy, Callable[[Offer, Course], Iterator[CashFlowItem]]] = {
    PaidBy.PRICE: _price,
    PaidBy.CREDIT: _of_credit,
    PaidBy.HIRE: _of_hire,
}


def _instalments(offer: Offer, course: Course, begun: range | list[int]) -> Iterator[CashFlowItem]:
    """Deposits, payments and fees; each of ``begun`` is the number of payments after which a term begins."""
    yield CashFlowItem(DEPOSIT.name, offer.deposit, _months(offer, course, begun))
    yield CashFlowItem(PAYMENTS.name, offer.payment, _months(offer, course, range(1, payments_made(offer, course) + 1)))
    yield CashFlowItem(FEES.name, offer.fees, _months(offer, course, [before + 1 for before in begun]))


def _months(offer: Offer, course: Course, numbers: range | list[int]) -> tuple[int, ...]:
    """The month of each payment; number 0 is the start."""
    if offer.frequency == "month":
        return tuple(numbers)
    months = course.months_of_weeks(0, course.whole_weeks)
    return tuple(months[number] for number in numbers)
