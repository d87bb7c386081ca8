"""Which days a cost is proposed to cover. Members may change them: nothing else rests on a proposal."""

from collections.abc import Iterable
from datetime import date

from costing.core.catalogue.costs import CostCategory
from costing.core.finance import payment_windows
from costing.core.periods import ONE_DAY
from costing.core.records import Agreement, Period
from fleet.core.days import add_months
from fleet.core.recurrence import renewed_from

#: Who logs a renewal so many days after the old cover has ended means, as a rule, that it ran on. No source.
LOGGED_LATE_DAYS = 14


def proposed_days(
    category: CostCategory,
    paid_on: date,
    until_now: date | None = None,
    term_ends_on: date | None = None,
    months: int | None = None,
) -> Period:
    """Return the days that a cost of ``category`` is proposed to cover.

    ``until_now`` is the last day of the cover that ran on ``paid_on``, or ran out before; ``term_ends_on`` the last day
    of the car's agreement; ``months`` what each of the payments covers if it is paid in parts. None: there is none.
    """
    if category.stays_in_car and term_ends_on is not None and term_ends_on >= paid_on:
        return Period(paid_on, term_ends_on)
    first = renewed_from(paid_on, until_now, LOGGED_LATE_DAYS) if category.is_renewed else paid_on
    return Period(first, add_months(first, months or category.usual_months) - ONE_DAY)


def term_ends_on(agreements: Iterable[Agreement], on: date) -> date | None:
    """Return the last day of the term of the agreement that holds the car on ``on``.

    If none does, because none has begun or the term has ended, it is that of the next one to come. None if there is no
    such agreement, or if it has no term.
    """
    in_order = sorted(agreements, key=lambda agreement: agreement.starts_on)
    begun = [_last_day(agreement) for agreement in in_order if agreement.starts_on <= on][-1:]
    to_come = [_last_day(agreement) for agreement in in_order if agreement.starts_on > on][:1]
    if begun and (begun[0] is None or begun[0] >= on):
        return begun[0]
    return to_come[0] if to_come else None


def _last_day(agreement: Agreement) -> date | None:
    windows = payment_windows(agreement)
    return windows[-1].last if windows else None
