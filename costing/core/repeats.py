"""What repeats: on which days it falls due, how much then, and which days each payment pays for."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import count
from typing import NamedTuple
from uuid import NAMESPACE_OID, uuid5

from costing.core.periods import ONE_DAY, Every, counted_on
from costing.core.records import Period

#: A cost logged by hand so many days before or after a due day is taken as that day's. No source.
LOOKS_THE_SAME_WITHIN = timedelta(days=5)


class Repeating(NamedTuple):
    """A sum that falls due again and again, in pence; without ``payments`` it goes on.

    The first payment brings the ``fees`` with it, the last one the ``final_payment``. ``in_arrears``: each falls due at
    the end of the days it pays for, as an agreement's instalments do. ``next_amount`` takes the place of ``amount``
    from ``next_amount_from`` on.
    """

    starts_on: date
    every: Every
    amount: int
    payments: int | None = None
    in_arrears: bool = False
    fees: int = 0
    final_payment: int = 0
    next_amount: int | None = None
    next_amount_from: date | None = None


class Due(NamedTuple):
    """One payment of it: the ``number``-th, the day on which it falls due, its pence, the days it pays for."""

    number: int
    on: date
    amount: int
    days: Period


def made_ref(ref: str, on: date) -> str:
    """Return the reference of the one entry that is made for the due day ``on`` of what repeats with ``ref``."""
    return str(uuid5(uuid5(NAMESPACE_OID, ref), on.isoformat()))


def dues(of: Repeating) -> Iterator[Due]:
    """Yield the payments, first to last, without end if it has none.

    The days are counted from ``starts_on``, never from the payment before: from 31 January monthly, one falls due on 28
    February and the next on 31 March.
    """
    for number in count(1) if of.payments is None else range(1, of.payments + 1):
        first, following = (counted_on(of.starts_on, of.every, steps) for steps in (number - 1, number))
        on = following if of.in_arrears else first
        yield Due(number, on, _amount(of, number, on), Period(first, following - ONE_DAY))


def dues_between(of: Repeating, after: date | None, until: date) -> list[Due]:
    """Return the payments that fall due after ``after``, on ``until`` at the latest."""
    found = []
    for due in dues(of):
        if due.on > until:
            break
        if after is None or due.on > after:
            found.append(due)
    return found


def next_dues(of: Repeating, after: date | None, limit: int) -> list[Due]:
    """Return at most ``limit`` payments that fall due after ``after``."""
    found: list[Due] = []
    for due in dues(of):
        if len(found) == limit:
            break
        if after is None or due.on > after:
            found.append(due)
    return found


def told_by_hand(of: Repeating, due: Due, logged_on: Iterable[date]) -> date | None:
    """Return the day, of those on which the same sum was logged by hand, that is taken as ``due``; None without one.

    It lies within 5 days of the due day and nearer to it than to any other, so that one entry is taken for one payment
    alone.
    """
    near = [day for day in logged_on if abs(day - due.on) <= LOOKS_THE_SAME_WITHIN and _nearest(of, day) == due.on]
    return min(near, key=lambda day: (abs(day - due.on), day), default=None)


def _nearest(of: Repeating, day: date) -> date:
    """Return the due day nearest to ``day``, of two as near the earlier."""
    around = dues_between(of, day - LOOKS_THE_SAME_WITHIN - ONE_DAY, day + LOOKS_THE_SAME_WITHIN)
    return min((due.on for due in around), key=lambda on: (abs(on - day), on))


def _amount(of: Repeating, number: int, on: date) -> int:
    amount = of.amount
    if of.next_amount is not None and of.next_amount_from is not None and on >= of.next_amount_from:
        amount = of.next_amount
    return amount + (of.fees if number == 1 else 0) + (of.final_payment if number == of.payments else 0)
