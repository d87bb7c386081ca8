"""What a renewal cost last: all that was paid for one term, whether at once, in parts, or with a fee for a change."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from costing.core.periods import ONE_DAY, days_in
from costing.core.records import Period
from costing.planning.core.bills import Price, Source
from fleet.core.days import add_months

#: Covers of one term may be entered as ending so many days apart. Our own tolerance: no two covers of a month do.
_ALIKE = timedelta(days=14)
#: A renewal is paid a month before it at most (common practice, no source).
_MONTHS_EARLY, _MONTHS = 1, 12


class Paid(NamedTuple):
    """One payment in pence: the days that it covers, if they are known, or the miles."""

    on: date
    pence: int
    cover: Period | None = None
    miles: int | None = None


def last_price(payments: Sequence[Paid], *, is_renewed: bool) -> Price:
    """Return what was paid last for one thing, of one payment or more. Raises ValueError without any.

    What ``is_renewed`` is paid for by terms, and its price is what the whole last term cost. The term is the longest of
    the covers that end where the latest cover ends, give or take 13 days: a fee for a change is none of its own. To it
    belong the payments whose cover begins within it, and those without cover that were made in it, but for its last
    month, in which the next may be paid. Without any cover, what was paid in the 11 months up to the last payment is
    one term.

    Of anything else it is what was paid on the last day. The price is ``told_on`` the day of its first payment.
    """
    last = max(paid.on for paid in payments)
    covers = [paid.cover for paid in payments if paid.cover] if is_renewed else []
    term = _term_of(covers) if covers else None
    if term:
        of_it = [paid for paid in payments if _belongs(paid, term)]
    else:
        since = add_months(last, _MONTHS_EARLY - _MONTHS) if is_renewed else last
        of_it = [paid for paid in payments if paid.on >= since]
    pence = sum(paid.pence for paid in of_it)
    miles = next((paid.miles for paid in of_it if paid.miles), None)
    return Price(pence, Source.LAST_PRICE, min(paid.on for paid in of_it), term, miles, len(of_it))


def _term_of(covers: Sequence[Period]) -> Period:
    """Return the longest of those that end with the latest; of equal ones, the one that ends last."""
    ends = max(cover.last for cover in covers)
    return max((cover for cover in covers if cover.last > ends - _ALIKE), key=lambda one: (days_in(one), one.last))


def _belongs(paid: Paid, term: Period) -> bool:
    if paid.cover:
        return term.first <= paid.cover.first <= term.last
    return term.first <= paid.on <= add_months(term.last + ONE_DAY, -_MONTHS_EARLY)
