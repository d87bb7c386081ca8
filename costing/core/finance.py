"""What hire purchase, PCP and hire agreements charge, and the days that each charge covers.

Neither interest nor hire stops at the car's last day in service: the agreement runs to the end of its term, whatever
happens to the car. A hire that has outlived its term ends with the service.
"""

import math
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY, counted_on
from costing.core.records import Agreement, Frequency, Period
from costing.core.shares import ByDays, share

#: Payment periods in a year of 12 equal months or 52 weeks. Directive 2008/48/EC, Annex I,
#: remark (c).
PERIODS_PER_YEAR: dict[Frequency, int] = {"month": 12, "week": 52}


def payment_windows(agreement: Agreement) -> tuple[Period, ...]:
    """Return the days that each payment is for: from one due day to the day before the next.

    Due days are counted from ``starts_on``, never from the previous one, so that an agreement that starts on the 31st
    returns to the 31st after February.
    """
    due = [due_day(agreement, number) for number in range(agreement.payments + 1)]
    return tuple(Period(first, following - ONE_DAY) for first, following in pairwise(due))


def due_day(agreement: Agreement, number: int) -> date:
    """Return the day ``number`` months or weeks after the agreement starts."""
    return counted_on(agreement.starts_on, agreement.frequency, number)


def payment_flows(agreement: Agreement) -> tuple[int, ...]:
    """Return the pence due at the end of each payment period of an agreement."""
    return flows_of(agreement.payment, agreement.payments, agreement.fees, agreement.final_payment)


def flows_of(payment: int, payments: int, fees: int, final_payment: int) -> tuple[int, ...]:
    """Return the pence due at the end of each period, with the fees first and the final payment last."""
    if payments < 1:
        return ()
    flows = [payment] * payments
    flows[0] += fees
    flows[-1] += final_payment
    return tuple(flows)


def lacks_terms(agreement: Agreement) -> bool:
    """Say whether too little is recorded to know what the agreement charges.

    Credit needs a price and something to pay; hire needs the number of payments. A car that is owned outright charges
    nothing and lacks nothing.
    """
    if agreement.way.is_credit:
        return agreement.price is None or not any(payment_flows(agreement))
    return agreement.way.is_hire and agreement.payments < 1


def period_rate(credit: int, flows: Sequence[int]) -> float | None:
    """Return the rate per payment period at which ``credit`` is the present value of ``flows``, all in pence.

    Flow *k* is due at the end of period *k*. The rate is below zero if less is repaid than was lent. It is None if
    there is no such rate: nothing lent, nothing paid, or a payment below zero.
    """
    if credit <= 0 or not any(flows) or min(flows) < 0:
        return None
    if sum(flows) == credit:
        return 0.0
    # In v = 1 / (1 + rate) the present value is a polynomial without negative coefficients, so it rises and curves
    # upward. Newton's steps from a point right of the root come down to it and need no guard. At the starting point,
    # one term alone is worth the whole credit.
    v = min(math.pow(credit / flow, 1 / k) for k, flow in enumerate(flows, start=1) if flow)
    while (closer := _newton_step(credit, flows, v)) < v:
        v = closer
    return 1 / v - 1


def _newton_step(credit: int, flows: Sequence[int], v: float) -> float:
    value = slope = 0.0
    for flow in reversed(flows):
        slope = slope * v + value
        value = value * v + flow
    return v - (v * value - credit) / (value + v * slope)


def annual_rate(rate: float, frequency: Frequency) -> float:
    """Return the effective yearly rate of a rate per payment period (0.01 a month gives 0.1268...).

    It follows the equation of Directive 2008/48/EC, Annex I, part I. A rate too great for a float is infinite.
    """
    try:
        return math.expm1(PERIODS_PER_YEAR[frequency] * math.log1p(rate))
    except OverflowError:
        return math.inf


def balances(rate: float, flows: Sequence[int]) -> list[float]:
    """Return the pence still owed at the start and after each payment: the present value of those to come."""
    # Going backwards, every term is positive and no error grows; forwards, a high rate would multiply it.
    owed = [0.0]
    for flow in reversed(flows):
        owed.append((owed[-1] + flow) / (1 + rate))
    return owed[::-1]


def running_interest(credit: int, flows: Sequence[int]) -> list[int]:
    """Return the whole pence of interest charged by the start and by each payment, half up.

    The last is exactly what is paid over the credit. If there is no rate (see `period_rate`), that sum is shared
    evenly over the payments.
    """
    paid = list(accumulate(flows, initial=0))
    rate = period_rate(credit, flows)
    if rate is None:
        return [share(paid[-1] - credit, k, len(flows)) for k in range(len(paid))]
    # The interest so far is what was paid less what was repaid of the credit.
    return [
        divide_half_up(Fraction(gone + owed - credit), 1)
        for gone, owed in zip(paid, balances(rate, flows), strict=True)
    ]


@lru_cache(maxsize=1024)
def interest_schedule(agreement: Agreement) -> tuple[ByDays, ...]:
    """Return (first day, last day, pence of interest) of each payment of a credit agreement.

    It is empty for every other kind, and if the terms are not recorded (see `lacks_terms`).
    """
    if not agreement.way.is_credit or agreement.price is None or lacks_terms(agreement):
        return ()
    totals = running_interest(agreement.price - agreement.deposit, payment_flows(agreement))
    return tuple(
        ByDays(window.first, window.last, now - before)
        for window, (before, now) in zip(payment_windows(agreement), pairwise(totals), strict=True)
    )


@lru_cache(maxsize=1024)
def hire_schedule(agreement: Agreement) -> tuple[ByDays, ...]:
    """Return (first day, last day, pence) of each payment of a hire agreement, and last of the deposit.

    Payment *k* covers the *k*-th month or week, the first one with the fees; the deposit (initial rental) covers the
    whole term. It is empty for every other kind, and if the terms are not recorded.
    """
    if not agreement.way.is_hire or lacks_terms(agreement):
        return ()
    windows = payment_windows(agreement)
    spans = [
        ByDays(window.first, window.last, pence)
        for window, pence in zip(windows, payment_flows(agreement), strict=True)
    ]
    if agreement.deposit:
        spans.append(ByDays(windows[0].first, windows[-1].last, agreement.deposit))
    return tuple(spans)


class RollingHire(NamedTuple):
    """A hire that goes on past its term at its payment: each month or week counted from its start."""

    agreement: Agreement
    first: date
    last: date

    @property
    def amount(self) -> int:
        """All that is paid past the term."""
        return self.by(self.last)

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        day = min(day, self.last)
        if day < self.first:
            return 0
        done = self._begun_by(day)
        window = Period(due_day(self.agreement, done), due_day(self.agreement, done + 1) - ONE_DAY)
        whole = done - self.agreement.payments
        used = share(self.agreement.payment, (day - window.first).days + 1, (window.last - window.first).days + 1)
        return whole * self.agreement.payment + used

    def _begun_by(self, day: date) -> int:
        """Return how many payment periods are over before the one that ``day`` lies in."""
        start = self.agreement.starts_on
        if self.agreement.frequency == "week":
            return (day - start).days // 7
        months = (day.year - start.year) * 12 + day.month - start.month
        return months if due_day(self.agreement, months) <= day else months - 1


def rolled_on(agreement: Agreement, last: date) -> RollingHire | None:
    """Return what a hire charges past its term up to ``last``; None if its term is not over by then, or not known."""
    if not agreement.way.is_hire or lacks_terms(agreement):
        return None
    first = due_day(agreement, agreement.payments)
    return RollingHire(agreement, first, last) if first <= last else None
