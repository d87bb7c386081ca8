"""What something cost last: a renewal all that was paid for one term, a visit to the garage all that it took.

Refunds are negative payments; what was refunded in full, or ended as it began, was no purchase.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from enum import Enum
from typing import NamedTuple

from costing.core.periods import ONE_DAY, days_in
from costing.core.records import Period
from costing.core.repeats import LOOKS_THE_SAME_WITHIN, Repeating, dues_between, told_by_hand
from costing.planning.core.bills import Price, Source
from fleet.core.days import add_months

#: Covers of one term may be entered as ending so many days apart. Our own tolerance: no two covers of a month do.
_ALIKE = timedelta(days=14)
#: A renewal is paid a month before it at most (common practice, no source).
_MONTHS_EARLY, _MONTHS = 1, 12
#: Payments from so long before the last one are of one visit: the last counts, so four weeks. No source.
_OF_ONE_VISIT = timedelta(days=27)


class Occurs(Enum):
    """What the payments of one price are paid for."""

    TERM = "term"  # what is renewed: insurance
    VISIT = "visit"  # what is done now and then: a service
    TEST = "test"  # what one does not expect to need twice: an MOT


class Paid(NamedTuple):
    """One payment in pence, negative if it is a refund: the days that it covers, if they are known, or the miles.

    The cover may have ``ended_on`` a day before its last.
    """

    on: date
    pence: int
    cover: Period | None = None
    miles: int | None = None
    ended_on: date | None = None


class _Covered(NamedTuple):
    """A payment with its cover, and the day on which that really ends."""

    cover: Period
    ends_on: date
    is_cut: bool


def last_price(payments: Sequence[Paid], occurs: Occurs) -> Price | None:
    """Return what was paid last for one thing; None if nothing was, but for what was refunded in full or ended at once.

    A term costs all that was paid for it. The term is the longest of the covers that end where the latest ends, give or
    take 13 days: a fee for a change is none of its own. A cover that ended early ends there, and what follows it is
    another term. To a term belong the payments whose cover begins within it and did not end before it, and those
    without cover from the day on which it began or, if that was sooner, was first paid, a month before at most; not
    those of its last month, in which the next may be paid. Without any cover, what was paid in the 11 months up to the
    last payment is one term. The price is ``told_on`` the day of its first payment.

    A visit is all that was paid within four weeks that end with the last payment, a test the dearest of these: it is
    not expected to be failed. The price is ``told_on`` the day of the last payment of the visit, or of that test.
    """
    paid = [one for one in _standing(payments) if not _ended_at_once(one)]
    if not paid:
        return None
    if occurs is Occurs.TERM:
        return _price_of_term(paid)
    last = max(one.on for one in paid)
    of_it = [one for one in paid if one.on >= last - _OF_ONE_VISIT]
    if occurs is Occurs.TEST:
        of_it = [max(of_it, key=lambda one: (one.pence, one.on))]
    return _price(of_it, max(one.on for one in of_it))


def taken(payments: Sequence[Paid], terms: Repeating, stopped_on: date | None) -> list[tuple[date, Paid]]:
    """Return the payments logged by hand that what repeats takes as its own, each after the due day it is taken for.

    The rule is that of the hourly task (`told_by_hand`): of the same sum, near a due day.
    """
    left, found = list(payments), list[tuple[date, Paid]]()
    if not left:
        return found
    until = min(max(paid.on for paid in left) + LOOKS_THE_SAME_WITHIN, stopped_on or date.max)
    for due in dues_between(terms, None, until):
        same = {paid.on: paid for paid in left if paid.pence == due.amount}
        if day := told_by_hand(terms, due, same):
            left.remove(same[day])
            found.append((due.on, same[day]))
    return found


def beside(payments: Sequence[Paid], terms: Repeating, stopped_on: date | None) -> list[Paid]:
    """Return the payments logged by hand that are not `taken`: the rest is counted as made by what repeats."""
    left = list(payments)
    for _, paid in taken(payments, terms, stopped_on):
        left.remove(paid)
    return left


def _standing(payments: Sequence[Paid]) -> list[Paid]:
    """Return what was paid, without what was refunded in full: each refund takes the last payment of its sum before it.

    A refund of another sum is of a part of it, and takes nothing: the next term will be paid in full.
    """
    paid = sorted((one for one in payments if one.pence > 0), key=lambda one: one.on)
    for refund in sorted((one for one in payments if one.pence < 0), key=lambda one: one.on):
        same = [one for one in paid if one.pence == -refund.pence and one.on <= refund.on]
        if same:
            paid.remove(same[-1])
    return paid


def _ended_at_once(paid: Paid) -> bool:
    return paid.cover is not None and paid.ended_on is not None and paid.ended_on <= paid.cover.first


def _price(paid: Sequence[Paid], told_on: date, term: Period | None = None) -> Price:
    miles = min((one.miles for one in paid if one.miles), default=None)
    return Price(sum(one.pence for one in paid), Source.LAST_PRICE, told_on, term, miles, len(paid))


def _price_of_term(paid: Sequence[Paid]) -> Price:
    covered = [(one, _covered(one, paid)) for one in paid]
    term = _term_of([cover for _, cover in covered if cover])
    if term is None:
        since = add_months(max(one.on for one in paid), _MONTHS_EARLY - _MONTHS)
        of_it = [one for one in paid if one.on >= since]
    else:
        with_cover = [one for one, cover in covered if cover and _is_of(cover, term)]
        first = min(term.cover.first, *(one.on for one in with_cover))
        since = max(first, add_months(term.cover.first, -_MONTHS_EARLY))
        until = add_months(term.ends_on + ONE_DAY, -_MONTHS_EARLY)
        of_it = with_cover + [one for one, cover in covered if cover is None and since <= one.on <= until]
    return _price(of_it, min(one.on for one in of_it), term.cover if term else None)


def _covered(paid: Paid, others: Iterable[Paid]) -> _Covered | None:
    """Return the cover of a payment; that of a fee for a change ends with what it was paid for."""
    if paid.cover is None:
        return None
    cut = [paid.ended_on] if paid.ended_on else []
    for other in others:
        if other.cover and other.ended_on and other.cover.first < paid.cover.first < other.ended_on:
            cut += [other.ended_on] if abs(other.cover.last - paid.cover.last) < _ALIKE else []
    return _Covered(paid.cover, min([paid.cover.last, *cut]), bool(cut))


def _term_of(covers: Sequence[_Covered]) -> _Covered | None:
    """Return the longest of those that end with the latest; of equal ones, the one that ends last."""
    ends = max((cover.ends_on for cover in covers), default=date.max)
    at_the_end = (cover for cover in covers if cover.ends_on > ends - _ALIKE)
    return max(at_the_end, key=lambda one: (days_in(one.cover), one.cover.last), default=None)


def _is_of(one: _Covered, term: _Covered) -> bool:
    ended_before = one.is_cut and one.ends_on <= term.ends_on - _ALIKE
    return term.cover.first <= one.cover.first <= term.ends_on and not ended_before
