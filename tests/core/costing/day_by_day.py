"""The same figures by the slowest road: every sum put on every day, then the days added up.

Written from the specification alone, on purpose unlike the core: no running totals, no closed
forms, nothing imported from it but the records. Only fit for small books.
"""

import math
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from itertools import pairwise

from costing.core.records import Agreement, CarBook, Cost, Fill, Period

DAY = timedelta(days=1)
#: What each kind of agreement charges for; one that is not here is not known, and no book may have it.
CHARGED_AS = {
    "owned": "",
    "hire_purchase": "interest",
    "pcp": "interest",
    "contract_hire": "rental",
    "weekly_rental": "rental",
}


def days(first: date, last: date) -> list[date]:
    """Every day from ``first`` to ``last``, both counted."""
    found, day = [], first
    while day <= last:
        found.append(day)
        day += DAY
    return found


def spread(amount: int, over: list[date]) -> dict[date, int]:
    """Put ``amount`` on the days ``over``, as the share rule says."""
    sign = -1 if amount < 0 else 1
    put, result = 0, {}
    for number, day in enumerate(over, start=1):
        used = math.floor(Fraction(abs(amount)) * Fraction(number, len(over)))
        result[day] = sign * (used - put)
        put = used
    return result


class DayByDay:
    """All figures of one book over one period."""

    def __init__(self, book: CarBook, period: Period, rate: Decimal) -> None:
        self.book, self.period, self.rate = book, period, rate
        self.known: dict[date, int] = {}
        for reading in book.readings:
            self.known[reading.read_on] = max(reading.miles, self.known.get(reading.read_on, 0))
        for fill in book.fills:
            self.known[fill.filled_on] = max(fill.odometer, self.known.get(fill.filled_on, 0))

    # Distance and teaching

    def odometer(self, day: date) -> int:
        """Miles shown at the end of ``day``; there must be a reading."""
        earlier = [known for known in self.known if known <= day]
        later = [known for known in self.known if known > day]
        if not earlier:
            return self.known[min(later)]
        start = max(earlier)
        if not later:
            return self.known[start]
        end = min(later)
        a_day = Fraction(self.known[end] - self.known[start], (end - start).days)
        return math.floor(self.known[start] + a_day * (day - start).days)

    def miles(self) -> int | None:
        """Miles of the period, the sum of its days'."""
        if not self.known:
            return None
        return sum(self.odometer(day) - self.odometer(day - DAY) for day in self.every_day())

    def every_day(self) -> list[date]:
        """The days of the period."""
        return days(self.period.first, self.period.last)

    def taught(self, what: str) -> int:
        """Lessons, minutes or private miles on the days of the period."""
        total = 0
        for record in self.book.teaching:
            daily = spread(getattr(record, what), days(record.from_on, record.to_on))
            total += sum(daily.get(day, 0) for day in self.every_day())
        return total

    # Money

    def by_category(self) -> dict[str, int]:
        """Pence of each category on the days of the period, what is nothing left out."""
        total: Counter[str] = Counter()
        for category, daily in self.sums():
            for day in self.every_day():
                total[category] += daily.get(day, 0)
        return {category: pence for category, pence in total.items() if pence}

    def sums(self) -> Iterator[tuple[str, dict[date, int]]]:
        """Every sum of the book with its pence day by day."""
        for cost in self.book.costs:
            if cost.category not in ("finance", "rental"):
                yield cost.category, self.cost_daily(cost)
        for unit in ("litre", "kwh"):
            yield from (("fuel", daily) for daily in self.fuel_daily(unit))
        for agreement in self.book.agreements:
            charge = CHARGED_AS[agreement.kind]
            if charge == "interest":
                yield charge, self.interest_daily(agreement)
            if charge == "rental":
                yield charge, self.hire_daily(agreement)
        yield "depreciation", self.depreciation_daily()

    def cost_daily(self, cost: Cost) -> dict[date, int]:
        """A cost entry day by day, what is left when its cover ends put on that day."""
        if cost.covers_from and cost.covers_to:
            daily = spread(cost.pence, days(cost.covers_from, cost.covers_to))
        elif cost.covers_miles:
            daily = self.miles_daily(cost, cost.covers_miles)
        else:
            return {cost.paid_on: cost.pence}
        end = cost.ended_on or self.book.service.last
        if end:
            daily = {day: pence for day, pence in daily.items() if day < end}
            daily[end] = cost.pence - sum(daily.values())
        return daily

    def miles_daily(self, cost: Cost, covers_miles: int) -> dict[date, int]:
        """Cover by miles, day by day to the last day that matters here."""
        if not self.known:
            return {}
        sign, put, daily = (-1 if cost.pence < 0 else 1), 0, {}
        end = cost.ended_on or self.book.service.last or self.period.last
        for day in days(cost.paid_on + DAY, max(self.period.last, end)):
            run = min(self.odometer(day) - self.odometer(cost.paid_on), covers_miles)
            used = math.floor(Fraction(abs(cost.pence) * run, covers_miles))
            daily[day] = sign * (used - put)
            put = used
        return daily

    def fuel_daily(self, unit: str) -> Iterator[dict[date, int]]:
        """Each fill on the days since the one before, or on its own day."""
        bought: list[Fill] = sorted(
            (fill for fill in self.book.fills if fill.unit == unit),
            key=lambda fill: (fill.filled_on, fill.odometer, fill.brimmed, fill.thousandths, fill.pence),
        )
        for index, fill in enumerate(bought):
            over = []
            if index:
                over = days(bought[index - 1].filled_on + DAY, fill.filled_on)
            yield spread(fill.pence, over or [fill.filled_on])

    def windows(self, agreement: Agreement) -> list[list[date]]:
        """The days of each payment period."""
        found = []
        for number in range(agreement.payments):
            first, following = due_day(agreement, number), due_day(agreement, number + 1)
            found.append(days(first, following - DAY))
        return found

    def interest_daily(self, agreement: Agreement) -> dict[date, int]:
        """The interest of a credit agreement, day by day."""
        flows = [agreement.payment for _ in range(agreement.payments)]
        if agreement.price is None or not flows:
            return {}
        flows[0] += agreement.fees
        flows[-1] += agreement.final_payment
        if not sum(flows):
            return {}
        daily: dict[date, int] = {}
        before = 0
        closed = interest_closed(agreement.price - agreement.deposit, flows)
        for over, now in zip(self.windows(agreement), closed, strict=True):
            daily.update(spread(now - before, over))
            before = now
        return daily

    def hire_daily(self, agreement: Agreement) -> dict[date, int]:
        """The payments of a hire agreement day by day, and its deposit over them all."""
        daily: Counter[date] = Counter()
        windows = self.windows(agreement)
        for number, over in enumerate(windows):
            pence = agreement.payment + (agreement.fees if number == 0 else 0)
            pence += agreement.final_payment if number == len(windows) - 1 else 0
            daily.update(spread(pence, over))
        daily.update(spread(agreement.deposit, [day for over in windows for day in over]))
        return dict(daily)

    def depreciation_daily(self) -> dict[date, int]:
        """The loss of value, day by day to the last day that matters here."""
        values = self.values()
        daily: dict[date, int] = {}
        known = sorted(values)
        for start, end in pairwise(known):
            daily.update(spread(values[start] - values[end], days(start + DAY, end)))
        if known:
            last = known[-1]
            stop = min(self.book.service.last or self.period.last, self.period.last)
            before = values[last]
            for number, day in enumerate(days(last + DAY, stop), start=1):
                now = reduced(values[last], self.rate, number)
                daily[day] = before - now
                before = now
        return daily

    def values(self) -> dict[date, int]:
        """What the car was worth on the days it is known."""
        into_service = self.book.service.first
        agreements = sorted(self.book.agreements, key=lambda agreement: agreement.starts_on)
        owned = [a for a in agreements if CHARGED_AS[a.kind] != "rental"]
        if agreements and not owned:
            return {}
        values = {valuation.valued_on: valuation.pence for valuation in self.book.valuations}
        if not owned:
            return values
        start = into_service
        hired = [a for a in agreements if CHARGED_AS[a.kind] == "rental"]
        if any(a.starts_on < owned[0].starts_on for a in hired):
            start = max(into_service, owned[0].starts_on)
            values = {day: pence for day, pence in values.items() if day >= start}
        priced = [a for a in owned if a.price is not None]
        if priced:
            day = start if priced[0] is owned[0] else max(into_service, priced[0].starts_on)
            if day not in values and priced[0].price is not None:
                values[day] = priced[0].price
        return values


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
    """Running interest totals in whole pence, by halving the interval of the rate 200 times."""
    total = sum(flows) - credit
    if credit <= 0:
        return list(running(spread(total, days(date(2000, 1, 1), date(2000, 1, 1) + (len(flows) - 1) * DAY))))
    with localcontext(prec=80):
        low, high = Decimal(0), Decimal(10) ** 12
        for _ in range(220):
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
