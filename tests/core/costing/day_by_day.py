"""The same figures by the slowest road: every sum put on every day, then the days added up.

Written from the specification alone, on purpose unlike the core: no running totals, no closed
forms, nothing imported from it but the records. Only fit for small books.
"""

import math
from collections import Counter
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from costing.core.records import Agreement, CarBook, Cost, Fill, Period, Teaching
from tests.core.costing.days_financed import due_day, interest_closed, reduced, spread
from tests.core.costing.days_kept import CHARGED_AS, DAY, Kept, days
from tests.core.costing.days_known import DaysKnown, Named


class DayByDay:
    """All figures of one book over one period."""

    def __init__(self, book: CarBook, period: Period, rate: Decimal) -> None:
        self.book, self.period, self.rate = book, period, rate
        self.known: dict[date, int] = {}
        for reading in book.readings:
            self.known[reading.read_on] = max(reading.miles, self.known.get(reading.read_on, 0))
        for fill in book.fills:
            self.known[fill.filled_on] = max(fill.odometer, self.known.get(fill.filled_on, 0))
        self.kept = Kept(book)
        self.reach = DaysKnown(book, self.kept, self.known)
        self.guessed: set[date] = set()
        self.is_without_value = self.kept.is_value_unknown(period.first, period.last)

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
        return sum(self.odometer(day) - self.odometer(day - DAY) for day in self.every_day() if self.kept.counts(day))

    def every_day(self) -> list[date]:
        """The days of the period."""
        return days(self.period.first, self.period.last)

    def over(self, record: Teaching) -> list[date]:
        """The days that a teaching record is shared over: those on which whoever taught kept the car."""
        whose = record.member if self.book.whose is None else self.book.whose
        times = Kept(self.book._replace(whose=whose)).times
        return [day for day in days(record.from_on, record.to_on) if any(first <= day <= last for first, last in times)]

    def taught(self, what: str) -> int | None:
        """Lessons, minutes or private miles on the days of the period; None if one record does not tell them."""
        total = 0
        for record in self.book.teaching:
            over = [day for day in self.over(record) if self.period.first <= day <= self.period.last]
            if over and getattr(record, what) is None:
                return None
            daily = spread(getattr(record, what) or 0, self.over(record))
            total += sum(daily[day] for day in over)
        return total

    def economy(self, unit: str) -> tuple[int, int] | None:
        """Miles and thousandths of the pairs of brims that end in the period, both inside one time."""
        bought = [fill for fill in self.in_order() if fill.unit == unit]
        brims = [index for index, fill in enumerate(bought) if fill.brimmed]
        miles, put_in = 0, 0
        for start, end in pairwise(brims):
            first, last = bought[start], bought[end]
            one_time = any(begin <= first.filled_on and last.filled_on <= stop for begin, stop in self.kept.times)
            is_whole = not any(fill.gap_before for fill in bought[start + 1 : end + 1])
            in_period = self.period.first <= last.filled_on <= self.period.last
            if is_whole and in_period and (one_time or not self.kept.is_cut):
                miles += last.odometer - first.odometer
                put_in += sum(fill.thousandths for fill in bought[start + 1 : end + 1])
        return (miles, put_in) if miles else None

    # What is known

    def is_borrowed(self) -> bool:
        """Whether the car was only borrowed on the days of the period."""
        own = [day for day in self.every_day() if self.is_in_time(day)]
        return bool(own) and not any(self.kept.is_kept(day) for day in own)

    def is_in_time(self, day: date) -> bool:
        """Whether the day lies in the member's time, or in the car's service."""
        return any(first <= day <= last for first, last in self.kept.times)

    def is_known(self) -> bool:
        """Whether the three figures that divide can be given."""
        is_there = any(self.is_in_time(day) for day in self.every_day()) and not self.is_borrowed()
        return is_there and not (self.reach.lacks(self.period) or self.is_without_value or self.lacks_terms())

    def lacks_terms(self) -> bool:
        """Whether an agreement that runs in the period does not tell what it charges."""
        for held in self.kept.agreements:
            credit, hire = (CHARGED_AS[held.kind] == charge for charge in ("interest", "rental"))
            paid = held.payments and (held.payments * held.payment or held.fees or held.final_payment)
            if (hire and not held.payments) or (credit and not (paid and held.price is not None)):
                last = due_day(held, held.payments) - DAY if held.payments else date.max
                if any(self.kept.counts(day) and held.starts_on <= day <= last for day in self.every_day()):
                    return True
        return False

    def named(self) -> Named:
        """Which inputs have not come in, and which days between two teaching records have none."""
        is_there = any(self.is_in_time(day) for day in self.every_day())
        return self.reach.lacks(self.period) | self.reach.untold(self.period) if is_there else set()

    def estimated(self) -> set[str]:
        """What rests on an estimate."""
        own = [day for day in self.every_day() if self.kept.counts(day)]
        self.depreciation_daily()
        value = any(day in self.guessed for day in own) and not self.is_without_value
        return {name for name, is_so in (("depreciation", value), ("miles", self.reach.is_level(self.period))) if is_so}

    # Money

    def by_category(self) -> dict[str, int]:
        """Pence of each category on the days of the period, what is nothing left out."""
        total = self.in_all()
        if self.is_without_value:
            del total["depreciation"]
        return {category: pence for category, pence in total.items() if pence}

    def in_all(self) -> Counter[str]:
        """Pence of each category on the days of the period, the loss of value as far as it is known."""
        total: Counter[str] = Counter()
        for category, daily in self.sums():
            for day in self.every_day():
                total[category] += daily.get(day, 0)
        return total

    def money_out(self) -> int:
        """Pence paid on the days of the period, for a car that the member keeps at any time."""
        paid = [(cost.paid_on, cost.pence) for cost in self.book.costs]
        paid += [(fill.filled_on, fill.pence) for fill in self.book.fills]
        return sum(pence for day, pence in paid if self.kept.times and self.period.first <= day <= self.period.last)

    def inside(self, daily: dict[date, int], pence: int) -> dict[date, int]:
        """A sum paid for the car, moved to days of one's own, with what is left put on the last of them."""
        if not self.kept.is_cut or not self.kept.times:
            return {} if self.kept.is_cut else daily
        moved: Counter[date] = Counter()
        for day, part in daily.items():
            moved[self.kept.next_day(day)] += part
        moved[self.kept.times[-1][1]] += pence - sum(daily.values())
        return dict(moved)

    def sums(self) -> Iterator[tuple[str, dict[date, int]]]:
        """Every sum of the book with its pence day by day."""
        for cost in self.book.costs:
            if cost.category not in ("finance", "rental"):
                yield cost.category, self.inside(self.cost_daily(cost), cost.pence)
        for unit in ("litre", "kwh"):
            yield from (("fuel", self.inside(daily, sum(daily.values()))) for daily in self.fuel_daily(unit))
        for category, daily in self.held():
            yield category, {day: pence for day, pence in daily.items() if self.kept.counts(day)}

    def held(self) -> Iterator[tuple[str, dict[date, int]]]:
        """What it costs to hold the car."""
        for number, agreement in enumerate(self.kept.agreements, start=1):
            charge = CHARGED_AS[agreement.kind]
            if charge == "interest":
                yield charge, self.interest_daily(agreement)
            if charge == "rental":
                following = [later.starts_on for later in self.kept.agreements[number:]]
                yield charge, self.hire_daily(agreement, following)
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
        bought = [fill for fill in self.in_order() if fill.unit == unit]
        for index, fill in enumerate(bought):
            over = []
            if index:
                over = days(bought[index - 1].filled_on + DAY, fill.filled_on)
            yield spread(fill.pence, over or [fill.filled_on])

    def in_order(self) -> list[Fill]:
        """The fills by day and odometer; of two at one stop, the one that brimmed comes last."""
        return sorted(self.book.fills, key=lambda f: (f.filled_on, f.odometer, f.brimmed, f.thousandths, f.pence))

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

    def hire_daily(self, agreement: Agreement, following: list[date]) -> dict[date, int]:
        """The payments of a hire day by day, its deposit over them all, and past its term the payment until it ends."""
        daily: Counter[date] = Counter()
        windows = self.windows(agreement)
        for number, over in enumerate(windows):
            pence = agreement.payment + (agreement.fees if number == 0 else 0)
            pence += agreement.final_payment if number == len(windows) - 1 else 0
            daily.update(spread(pence, over))
        daily.update(spread(agreement.deposit, [day for over in windows for day in over]))
        stop = min([self.book.service.last or self.period.last, *(day - DAY for day in following)])
        number = len(windows)
        while windows and (first := due_day(agreement, number)) <= min(stop, self.period.last):
            number += 1
            rolled = spread(agreement.payment, days(first, due_day(agreement, number) - DAY))
            daily.update({day: pence for day, pence in rolled.items() if day <= stop})
        return dict(daily)

    def depreciation_daily(self) -> dict[date, int]:
        """The loss of value, day by day to the last day that matters here."""
        daily: dict[date, int] = {}
        for run, run_ends in self.kept.runs_of_value(self.period.last):
            for start, end in pairwise(run):
                daily.update(spread(start.pence - end.pence, days(start.valued_on + DAY, end.valued_on)))
            last, before = run[-1].valued_on, run[-1].pence
            stop = min(self.book.service.last or self.period.last, self.period.last, run_ends)
            for number, day in enumerate(days(last + DAY, stop), start=1):
                now = reduced(run[-1].pence, self.rate, number)
                daily[day] = before - now
                before = now
                self.guessed.add(day)
        return daily
