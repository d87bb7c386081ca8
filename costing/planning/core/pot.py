"""The weekly pot: the least that meets every bill if as much is put by each week, and what an illness asks for.

Weeks are counted from the first day: a week is its seven days, and at the end of the seventh, after that day's bills,
the weekly sum is put by. So the first bills are met from what is in hand, and no bill is ever met by money of the same
day. Everything is whole pence.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from costing.core.records import Period
from costing.planning.core.bills import Bill

_DAYS = 7
#: A week is off if at least so many of its days are.
_MOST_OF_A_WEEK = 4


class Weeks(NamedTuple):
    """The weeks from ``start`` on, of which nothing is put by in those whose numbers are ``off``; the first is 1."""

    start: date
    off: frozenset[int] = frozenset()

    def of(self, on: date) -> int:
        """Return the number of the week that a day lies in."""
        return (on - self.start).days // _DAYS + 1

    def put_by(self, on: date) -> int:
        """Return how many times the weekly sum was put by before the bills of a day."""
        over = self.of(on) - 1
        return over - sum(week <= over for week in self.off)

    def days_of(self, first: int, count: int) -> Period:
        """Return the days of ``count`` weeks from the ``first`` on."""
        begins = self.start + timedelta(days=_DAYS * (first - 1))
        return Period(begins, begins + timedelta(days=_DAYS * count - 1))


class Smallest(NamedTuple):
    """The least whole pence a week, and the day whose bills ask for so much; None if the balance meets all.

    ``short`` is what has to be added to the balance today, because no weekly sum comes in time; then the rest holds.
    """

    weekly: int
    because: date | None = None
    short: int = 0
    short_by: date | None = None


class Illness(NamedTuple):
    """What is needed beyond the balance today so that no illness of ``weeks`` weeks takes it below nought.

    The worst are the weeks that begin on ``worst_from``.
    """

    weeks: int
    extra: int
    worst_from: date


def weeks_off(start: date, spans: Iterable[Period], until: date) -> Weeks:
    """Return the weeks from ``start``, those off of which at least four days lie in a span."""
    weeks, lost = Weeks(start), set[date]()
    for span in spans:
        first, last = max(span.first, start), min(span.last, until)
        lost |= {first + timedelta(days=day) for day in range((last - first).days + 1)}
    lost_of = Counter(map(weeks.of, lost))
    return weeks._replace(off=frozenset(week for week, days in lost_of.items() if days >= _MOST_OF_A_WEEK))


def smallest_weekly(bills: Iterable[Bill], balance: int, weeks: Weeks) -> Smallest:
    """Return the smallest sum a week with which the balance never goes below nought.

    It is the greatest, over the days of bills, of what is paid by then less the balance, shared over the times that
    money was put by before. Bills before the first of them have to be met by the balance.
    """
    totals = list(_paid_by(bills))
    short, short_by = 0, None
    for on, paid in totals:
        if not weeks.put_by(on) and paid - balance > short:
            short, short_by = paid - balance, on
    weekly, because = 0, None
    for on, paid in totals:
        times = weeks.put_by(on)
        if times and (asked := -(-(paid - balance - short) // times)) > weekly:
            weekly, because = asked, on
    return Smallest(weekly, because, short, short_by)


def balance_needed(bills: Iterable[Bill], weekly: int, weeks: Weeks) -> int:
    """Return the lowest balance today with which a weekly sum meets every bill."""
    return max([0, *(paid - weekly * weeks.put_by(on) for on, paid in _paid_by(bills))])


def least_in(bills: Sequence[Bill], balance: int, weekly: int, weeks: Weeks, days: Period) -> int:
    """Return the least that is in the pot after the bills of any of these days.

    Between bills the pot only grows, so the least is there on the first day or on one with bills. The sum that is put
    by on the evening of a day is there on the next one.
    """
    by_then = sum(bill.pence for bill in bills if bill.on <= days.first)
    paid = [(days.first, by_then), *((on, pence) for on, pence in _paid_by(bills) if days.first < on <= days.last)]
    return min(balance + weekly * weeks.put_by(on) - pence for on, pence in paid)


def while_ill(bills: Sequence[Bill], weeks: Weeks, first: int, count: int) -> tuple[list[Bill], Weeks]:
    """Return the bills and the weeks if one is ill for ``count`` weeks from the ``first``: what pauses is not asked."""
    ill = weeks.days_of(first, count)
    left = [bill for bill in bills if not (bill.pauses and ill.first <= bill.on <= ill.last)]
    return left, weeks._replace(off=weeks.off | frozenset(range(first, first + count)))


def illness(bills: Sequence[Bill], balance: int, weekly: int, weeks: Weeks, count: int) -> Illness:
    """Return what has to be in hand beyond the balance so that ``count`` weeks ill are survived, whenever they begin.

    All that begin after the last bill are alike: nothing pauses, and every week of putting by comes before them.
    """
    last = max((weeks.of(bill.on) for bill in bills), default=1)
    worst, needed = 1, -1
    for first in range(1, last + 2):
        left, without = while_ill(bills, weeks, first, count)
        asked = balance_needed(left, weekly, without)
        if asked > needed:
            worst, needed = first, asked
    return Illness(count, max(0, needed - balance), weeks.days_of(worst, count).first)


def _paid_by(bills: Iterable[Bill]) -> Iterator[tuple[date, int]]:
    """Yield each day that has bills, in order, with all that is paid by its end."""
    by_day: dict[date, int] = {}
    for bill in bills:
        by_day[bill.on] = by_day.get(bill.on, 0) + bill.pence
    paid = 0
    for on in sorted(by_day):
        paid += by_day[on]
        yield on, paid
