"""Sums shared over days, interest and worth, by the slow road: nothing imported from the core but the records."""

import math
from collections.abc import Iterator
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

from costing.core.records import Agreement
from tests.core.costing.days_kept import DAY, days


def spread(amount: int, over: list[date]) -> dict[date, int]:
    """Put ``amount`` on the days ``over``, as the share rule says."""
    sign = -1 if amount < 0 else 1
    put, result = 0, {}
    for number, day in enumerate(over, start=1):
        used = math.floor(Fraction(abs(amount)) * Fraction(number, len(over)))
        result[day] = sign * (used - put)
        put = used
    return result


def due_day(agreement: Agreement, number: int) -> date:
    """The day ``number`` months or weeks from the first of the agreement."""
    if agreement.frequency == "week":
        return agreement.starts_on + number * 7 * DAY
    year, month = agreement.starts_on.year, agreement.starts_on.month
    for _ in range(number):
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    for day in range(agreement.starts_on.day, 0, -1):
        try:
            return date(year, month, day)
        except ValueError:
            continue
    raise AssertionError("every month has a first day")


def interest_closed(credit: int, flows: list[int]) -> list[int]:
    """Running interest totals in whole pence, by halving the interval of the rate until all digits stand."""
    total = sum(flows) - credit
    if credit <= 0:
        return list(running(spread(total, days(date(2000, 1, 1), date(2000, 1, 1) + (len(flows) - 1) * DAY))))
    with localcontext(prec=200):
        low, high = Decimal(0), Decimal(10) ** 12
        for _ in range(480):
            middle = (low + high) / 2
            worth_now = sum(flow * middle**k for k, flow in enumerate(flows, start=1))
            low, high = (middle, high) if worth_now < credit else (low, middle)
        rate = 1 / high - 1
        owed, interest, closed = Decimal(credit), Decimal(0), []
        for flow in flows:
            interest += owed * rate
            owed = owed * (1 + rate) - flow
            closed.append(half_up(interest))
        return closed


def running(daily: dict[date, int]) -> Iterator[int]:
    """Running totals of sums in order of day."""
    total = 0
    for pence in daily.values():
        total += pence
        yield total


def half_up(value: Decimal) -> int:
    """Whole pence, half away from zero, once the noise of the last digits is gone."""
    return int(value.quantize(Decimal("1e-15")).quantize(Decimal(1), ROUND_HALF_UP))


def reduced(pence: int, rate: Decimal, number: int) -> int:
    """What is left of a value after ``number`` days of reducing balance."""
    if rate == 1:
        return 0
    with localcontext(prec=60):
        return half_up(pence * ((1 - rate).ln() * number / 365).exp())
