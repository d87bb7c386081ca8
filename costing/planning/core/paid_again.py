"""What is paid again and again: the payments to come of what repeats or was agreed, and renewals paid in parts."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import NamedTuple

from costing.core.periods import ONE_DAY, Every
from costing.core.records import Period
from costing.core.repeats import LOOKS_THE_SAME_WITHIN, Repeating, dues, dues_between, told_by_hand
from costing.core.repeats import Due as Payment
from costing.planning.core.bills import Bill, Due, Price, Source
from fleet.core.days import add_months

_MONTHS = 12
#: Where nothing was paid by hand.
_NONE: Mapping[date, int] = MappingProxyType({})
#: The first part of a renewal may be paid so long before it.
_SOON_BEFORE = timedelta(days=14)
#: How a cover that was paid in parts is paid again, and in how many parts a year at most.
_PARTS: dict[Every, tuple[Source, int]] = {
    "week": (Source.WEEKLY, 52),
    "month": (Source.MONTHLY, 12),
    "quarter": (Source.QUARTERLY, 4),
}


class Payments(NamedTuple):
    """What an agreement or a repeat pays: ``terms``, and its words. ``out_of`` payments make up a term; then it rolls.

    ``has_choice``: at the end the car may go back instead of the final payment. What fell due by ``met_until`` is paid
    otherwise, and so are so many payments after it as are ``ahead``; the final payment stays. Of ``were_due``
    instalments ``logged`` are in the book, which the next one tells: whether others were missed nobody knows.
    """

    terms: Repeating
    title: str
    of: str
    category: str
    source: Source
    out_of: int = 0
    pauses: bool = False
    has_choice: bool = False
    met_until: date | None = None
    ahead: int = 0
    were_due: int = 0
    logged: int = 0


def bills_of_payments(paid: Payments, after: date, until: date) -> Iterator[Bill]:
    """Yield the payments that fall due after ``after``, on ``until`` at the latest; the final payment by itself.

    Of payments ahead of their due days, the next day asks for the first that is not paid: who pays at the start of each
    month goes on so. The final payment keeps its day.
    """
    is_first = True
    for due in dues_between(paid.terms, after, until):
        number, final = due.number + paid.ahead, _final(paid.terms, due)
        fees = paid.terms.fees if due.number == 1 and paid.ahead else 0
        source = Source.ROLLS if paid.out_of and number > paid.out_of else paid.source
        bill = Bill(
            *(due.on, due.amount - final - fees, paid.title, source, paid.of, paid.category),
            number=number if paid.out_of else 0,
            out_of=paid.out_of,
            pauses=paid.pauses,
        )
        is_met = paid.met_until is not None and due.on <= paid.met_until
        is_over = paid.terms.payments is not None and number > paid.terms.payments
        if bill.pence and not (is_met or is_over):
            yield bill._replace(were_due=paid.were_due, logged=paid.logged) if is_first else bill
            is_first = False
        if final:
            yield bill._replace(
                pence=final, source=Source.FINAL, number=due.number if paid.out_of else 0, may_go_back=paid.has_choice
            )


def _final(terms: Repeating, due: Payment) -> int:
    return terms.final_payment if due.number == terms.payments else 0


def paid_ahead(terms: Repeating, met_until: date, paid: int) -> int:
    """Return how many of so many payments ``paid`` are beyond those that fell due by ``met_until``."""
    return max(0, paid - len(dues_between(terms, None, met_until)))


def with_logged(paid: Payments, until: date, logged: int) -> Payments:
    """Return payments that know how many of those that fell due ``until`` a day are in the book."""
    return paid._replace(were_due=len(dues_between(paid.terms, None, until)), logged=logged)


def taken_until(terms: Repeating, met_until: date, paid_on: date) -> date:
    """Return by which due day all is paid, if what was paid on a day is taken for one soon after ``met_until``."""
    soon = dues_between(terms, met_until, paid_on + LOOKS_THE_SAME_WITHIN)
    return max([met_until, *(due.on for due in soon if told_by_hand(terms, due, [paid_on]))])


def pays_all(terms: Repeating, stopped_on: date | None) -> bool:
    """Say whether all payments of what repeats are made, so that the last brings its final payment."""
    ends_on = max((due.on for due in dues(terms)), default=terms.starts_on) if terms.payments else date.max
    return stopped_on is None or ends_on <= stopped_on


def pays_at_all(terms: Repeating, stopped_on: date | None) -> bool:
    """Say whether what repeats has any payment: one stopped before its first has none, and meets no bill."""
    return stopped_on is None or bool(dues_between(terms, None, stopped_on))


def begins_after_renewal(terms: Repeating, renewed_on: date) -> bool:
    """Say whether what repeats begins so long after a renewal that none of it pays that one."""
    return terms.starts_on > add_months(renewed_on, 1)


def last_payment_on(terms: Repeating, stopped_on: date | None, beyond: date) -> date | None:
    """Return the day of the last payment of what repeats and `pays_at_all`; None if one falls due after ``beyond``."""
    last = terms.starts_on
    for due in dues(terms):
        if stopped_on is not None and due.on > stopped_on:
            break
        if due.on > beyond:
            return None
        last = due.on
    return last


def price_of_payments(
    terms: Repeating, last: date, after: date = date.min, by_hand: Mapping[date, int] = _NONE
) -> Price | None:
    """Return what the payments of the 12 months up to the ``last``, and ``after`` a day, came to; None without any.

    ``by_hand`` are, by due day, the pence that were really paid where another sum was logged in a payment's place.
    """
    made = dues_between(terms, max(add_months(last, -_MONTHS), after), last)
    pence = sum(by_hand.get(due.on, due.amount) for due in made)
    return Price(pence, Source.LAST_PAYMENTS, last, payments=len(made)) if made else None


def pays_last_cover(terms: Repeating, last: date, renewed_on: date) -> bool:
    """Say whether payments up to the ``last`` were for the cover before a renewal: its last part may come soon after.

    A cover is taken as a year. What is paid once a year, or begins later, may as well pay the renewal.
    """
    is_begun = terms.every in _PARTS and terms.starts_on <= add_months(renewed_on, -6)
    return is_begun and add_months(renewed_on, -_MONTHS) < last < add_months(renewed_on, 1)


def with_payments(
    due: Due, price: Price | None, terms: Repeating, last: date, year: Period, by_hand: Mapping[date, int] = _NONE
) -> tuple[Price | None, list[Bill]]:
    """Return what of a renewal is paid at once, and its bills in parts, if what repeats paid up to the ``last`` too.

    Payments of the term that the ``price`` is of are part of what it cost: in parts again, or added to it. Those of a
    later term take its place, and those of an earlier one say nothing. ``by_hand``: as for `price_of_payments`.
    """
    parts, told = bills_as_paid(due, terms, last, year, by_hand), price
    if told and told.lasts and last <= add_months(told.lasts.last, 1):
        paid = price_of_payments(terms, last, told.lasts.first - ONE_DAY, by_hand)
        if paid is None or last <= add_months(told.lasts.first, 1):
            return told, []
        whole = told._replace(pence=told.pence + paid.pence, payments=told.payments + paid.payments)
        return told if parts else whole, parts
    paid = price_of_payments(terms, last, by_hand=by_hand)
    if paid is None or (told and not told.lasts and told.told_on and told.told_on >= last):
        return told, []
    return None if parts else paid, parts


def bills_as_paid(
    due: Due, terms: Repeating, last: date, year: Period, by_hand: Mapping[date, int] = _NONE
) -> list[Bill]:
    """Return the bills of a renewal that is paid as the cover before it was: in the same parts, a year after each.

    A part that was paid ``by_hand`` comes again at what was paid (as for `price_of_payments`). ``last`` is the day on
    which ``terms`` paid for the last time. What is late falls on the first day. None if they did not pay the last cover
    in parts, or if the first part would come long before the renewal.
    """
    if due.on is None or due.on > year.last or not pays_last_cover(terms, last, due.on):
        return []
    source, parts = _PARTS[terms.every]
    endless = terms._replace(payments=None, fees=0, final_payment=0)
    before = dues_between(endless, None, last)
    made, paid = len(before), {one.number: by_hand[one.on] for one in before if one.on in by_hand}
    again = [one for one in dues_between(endless, last, year.last) if made >= parts or (one.number - 1) % parts < made]
    if made == 1 or (again and again[0].on < due.on - _SOON_BEFORE):
        return []
    return [
        Bill(
            *(max(one.on, year.first), paid.get(one.number - parts, one.amount), due.title),
            *(source, due.of, due.category),
            was_due_on=one.on if one.on < year.first else None,
        )
        for one in again
    ]
