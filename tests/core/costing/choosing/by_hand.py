"""One offer by the slowest road: a walk over months and days that puts each sum where it falls.

Written from the rules of the offers file alone, on purpose unlike the core: every way out is tried as a whole list of
sums, a settlement is found by halving in long decimals, a value by roots. Only the records of a case come from the
core. What the rules leave open is read as the core reads it:

* Hire purchase whose last payment falls in the month one leaves is paid off: the car is sold.
* Damage or extra miles that aren't told matter only if handing back is lower with them at nothing.
* A big repair is paid half-way through; weeks inside m are the whole weeks of m months at 52 a year.
"""

import calendar
import math
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction

from costing.choosing.core.case import Case, Offer, WhatIf

#: Whether the car stays somebody else's, by kind of offer; one that is not here is not known.
IS_HIRE = {"owned": False, "hire_purchase": False, "pcp": False, "contract_hire": True, "weekly_rental": True}
YEARLY = {"insurance": "insurance", "vehicle_tax": "vehicle_tax_per_year", "breakdown": "breakdown_per_year"}
EVENLY = {"servicing": "servicing_per_year", "repairs": "repairs_per_year"}
OF_START = {"insurance", "vehicle_tax", "breakdown", "fit_out"}


def whole(exact: Fraction | int) -> int:
    """Half up, away from nothing."""
    nearest = math.floor(abs(Fraction(exact)) + Fraction(1, 2))
    return nearest if exact >= 0 else -nearest


def months_later(day: date, count: int) -> date:
    """The same day of a later month, or its last day where it has no such day."""
    year, month = day.year, day.month
    for _ in range(count):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


class NoCar(Exception):
    """Handed back before one leaves."""


class ByHand:
    """What one offer costs, by month 0..m, with what isn't told counted as nothing and named."""

    def __init__(self, case: Case, offer: Offer, months: int | None = None, what_if: WhatIf | None = None) -> None:
        change = what_if or WhatIf("")
        self.use, self.running, self.offer = case.use, case.running_of(offer), offer
        if change.damage is not None:
            self.offer = offer._replace(damage=change.damage)
        self.m = months or change.leave_at_month or case.use.months
        self.is_hire = IS_HIRE[offer.kind]
        self.by_week = offer.frequency == "week"
        weeks = self.m * 52 // 12
        self.could = weeks if self.by_week else self.m
        self.off = [k for k in range(1, weeks + 1) if change.off and 0 <= k - change.off.from_week < change.off.weeks]
        taught = Fraction(case.use.weeks_taught_per_year * self.m, 12)
        self.miles = Fraction(case.use.miles_per_year * (1 + change.more_miles) * self.m, 12)
        self.miles *= max(Fraction(0), 1 - len(self.off) / taught)
        self.months, self.untold = [0] * (self.m + 1), set[str]()
        if offer.kind == "owned":
            self.months[0] += offer.price or 0
        else:
            self._pay()
        self._run(change.one_repair or 0)
        self._give_back()
        self.ways = self._ways()
        self._leave()

    # What is paid for the car

    def _month_of(self, number: int) -> int:
        """Where the payment of that number falls; number 0 is the start."""
        if not self.by_week:
            return number
        due, month = self.use.starts_on + timedelta(days=7 * number), 0
        while month < self.m and months_later(self.use.starts_on, month) < due:
            month += 1
        return month

    @property
    def _renews(self) -> bool:
        told = self.offer.then or {"contract_hire": "renew"}.get(self.offer.kind, "rolls")
        return self.is_hire and told == "renew"

    @property
    def left(self) -> int:
        """Payments of the term still to come."""
        term = self.offer.payments
        if self._renews:
            return (term - self.could % term) % term
        return max(0, term - self.could)

    def _pay(self) -> None:
        offer, deposits = self.offer, 0
        for number in range(self.could if self.is_hire else min(self.could, offer.payments)):
            if number == 0 or (self._renews and number % offer.payments == 0):
                self.months[self._month_of(number)] += offer.deposit
                self.months[self._month_of(number + 1)] += offer.fees
                deposits += offer.deposit
            stops = offer.pauses_when_off and self.by_week and number + 1 in self.off
            self.months[self._month_of(number + 1)] += 0 if stops else offer.payment
        if offer.pauses_when_off and not self.by_week:
            self.months[self.m] -= whole(Fraction(offer.payment * len(self.off) * 12, 52))
        if self.is_hire:
            self.months[self.m] -= deposits if offer.deposit_comes_back else 0
        elif offer.payments < self.could or (offer.payments == self.could and offer.kind != "pcp"):
            self.months[self._month_of(offer.payments)] += offer.final_payment

    # Running it

    def _spread(self, exact: Fraction) -> None:
        """Share one sum over months 1..m: what is used by the end of each, rounded down, less what was before."""
        all_of_it = whole(exact)
        for month in range(1, self.m + 1):
            self.months[month] += all_of_it * month // self.m - all_of_it * (month - 1) // self.m

    def _needs(self, part: str, *keys: str) -> bool:
        """Whether a part is to be paid and told; if it isn't told, that is noted."""
        if part in self.offer.includes:
            return False
        if any(getattr(self.running, key) is None for key in keys):
            self.untold.add(part)
            return False
        return True

    @property
    def _tests(self) -> list[int]:
        """The months in which the car is tested."""
        years = {"GB": 3, "NI": 4}[self.use.nation]
        first = self.offer.first_registered
        return [
            month
            for month in range(12, self.m + 1, 12)
            if first is None or months_later(first, 12 * years) <= months_later(self.use.starts_on, month)
        ]

    def _run(self, one_repair: int) -> None:
        table = self.running
        for part, key in YEARLY.items():
            for year in range((self.m + 11) // 12 if self._needs(part, key) else 0):
                told = getattr(table, key)
                self.months[12 * year] += told[min(year, len(told) - 1)] if part == "insurance" else told
        if self._needs("fit_out", "fit_out"):
            self.months[0] += table.fit_out or 0
        if self._tests and self._needs("mot", "mot"):
            for month in self._tests:
                self.months[month] += table.mot or 0
        for part, key in EVENLY.items():
            if self._needs(part, key):
                self._spread(Fraction(getattr(table, key) * self.m, 12))
        if "repairs" not in self.offer.includes:
            self.months[(self.m + 1) // 2] += one_repair
        if self._needs("tyres", "tyre_set", "tyre_set_miles"):
            self._spread(Fraction(table.tyre_set or 0) * self.miles / Fraction(table.tyre_set_miles or 1))
        if self._needs("fuel", "fuel"):
            a_mile = Fraction(0)
            for fuel in table.fuel or ():
                a_unit = {
                    "mile": Fraction(1),
                    "litre": Fraction(454609, 100000) / fuel.economy,
                    "kwh": 1 / fuel.economy,
                }
                a_mile += fuel.share * fuel.price * a_unit[fuel.unit]
            self._spread(a_mile * self.miles)

    def _give_back(self) -> None:
        left = {0: 0}.get(self.m % 12, 12 - self.m % 12)
        table, inside = self.running, self.offer.includes
        if left and "vehicle_tax" not in inside and table.vehicle_tax_per_year is not None:
            kept = left - (0 if self.use.starts_on.day == 1 else 1)
            self.months[self.m] -= math.floor(Fraction(table.vehicle_tax_per_year * kept, 12))
        if left and "insurance" not in inside and table.insurance is not None:
            premium = table.insurance[min(self.m // 12, len(table.insurance) - 1)]
            self.months[self.m] -= math.floor(premium * (table.insurance_given_back or 0) * Fraction(left, 12))

    # Leaving it

    @property
    def _value(self) -> int | None:
        offer, n = self.offer, self.use.months
        if offer.value_at_horizon is None:
            return None
        now = offer.price if offer.value_now is None else offer.value_now
        if self.m == n:
            return offer.value_at_horizon
        with localcontext(prec=80):
            # The n-th root of the share left, to the power of m.
            share = max(Decimal(offer.value_at_horizon) / Decimal(now or 0), Decimal("0.1"))
            monthly = share ** (Decimal(1) / n)
            exact = now * monthly**self.m - (now * share - offer.value_at_horizon) * Decimal(self.m) / n
            return whole(max(Fraction(0), Fraction(exact.quantize(Decimal(1).scaleb(-30)))))

    @property
    def _owed(self) -> int:
        """The payments to come, worth what they are at the agreement's own rate: found by halving."""
        offer = self.offer
        flows = [offer.payment] * offer.payments
        flows[0] += offer.fees
        flows[-1] += offer.final_payment
        lent = (offer.price or 0) - offer.deposit

        def worth(v: Decimal, of: list[int]) -> Decimal:
            value = Decimal(0)
            for flow in reversed(of):
                value = (value + flow) * v
            return value

        with localcontext(prec=50):
            low, high = Decimal(0), Decimal(1)
            if sum(flows) > lent:
                while high - low > Decimal(1).scaleb(-35):
                    middle = (low + high) / 2
                    low, high = (low, middle) if worth(middle, flows) > lent else (middle, high)
            return whole(Fraction(worth(high, flows[self.could :]).quantize(Decimal(1).scaleb(-9))))

    def _back(self, years: Fraction) -> tuple[int, set[str]]:
        """What is charged when the car goes back, and what of that isn't told."""
        offer, untold = self.offer, set[str]()
        allowed = offer.mileage_allowance
        over = Fraction(0) if allowed is None else max(Fraction(0), self.miles - allowed * years)
        if offer.damage is None:
            untold.add("damage")
        if over and offer.excess_pence_per_mile is None:
            untold.add("excess_miles")
        return whole(over * (offer.excess_pence_per_mile or 0)) + (offer.damage or 0), untold

    def _ways(self) -> dict[str, tuple[int, set[str], bool]]:
        """Each way out with its sum, what of that isn't told and counts as nothing, and whether it may be taken."""
        offer, m, value = self.offer, Fraction(self.m, 12), self._value
        sold: tuple[int, set[str]] = (-(value or 0), {"value"} if value is None else set())
        if self.is_hire:
            sum_back, untold = self._back(m)
            if not self.left:
                return {"hand_back": (sum_back, untold, True)}
            if offer.early_exit is None:
                return {"early_exit": (sum_back, untold | {"early_exit"}, True)}
            charge = offer.early_exit.value * offer.payment
            if offer.early_exit.kind == "share_of_remaining":
                charge *= self.left
            elif not self.by_week:
                charge = charge * 12 / 52
            return {"early_exit": (sum_back + whole(min(charge, Fraction(self.left * offer.payment))), untold, True)}
        if offer.kind == "owned" or offer.payments < self.could:
            if offer.at_end == "hand_back":
                raise NoCar
            return {"sell": (*sold, True)}
        if self.left:
            return self._ways_inside(sold)
        if offer.kind == "hire_purchase":
            return {"sell": (*sold, True)}
        back = self._back(Fraction(offer.payments, 52 if self.by_week else 12))
        owned = (offer.final_payment + sold[0], sold[1])
        return {
            "sell": (*owned, offer.at_end in (None, "sell")),
            "keep": (*owned, offer.at_end == "keep"),
            "hand_back": (*back, offer.at_end in (None, "hand_back")),
        }

    def _ways_inside(self, sold: tuple[int, set[str]]) -> dict[str, tuple[int, set[str], bool]]:
        offer = self.offer
        settle = (self._owed + sold[0], sold[1])
        lent = (offer.price or 0) - offer.deposit
        if offer.half_rule is False or (offer.half_rule is None and lent > 25_000_00):
            return {"settle": (*settle, True)}
        price = offer.deposit + offer.payment * offer.payments + offer.fees + offer.final_payment
        paid = offer.deposit + offer.payment * self.could + offer.fees
        charged, untold = self._back(Fraction(self.m, 12))
        half = max(0, whole(Fraction(price, 2)) - paid) + charged
        return {
            "settle": (*settle, offer.on_leaving != "half_rule"),
            "half_rule": (half, untold, offer.on_leaving != "settle"),
        }

    def _leave(self) -> None:
        may = {way: told for way, told in self.ways.items() if told[2]}
        self.way = min(may, key=lambda way: may[way][0])
        self.months[self.m] += may[self.way][0]
        self.untold |= may[self.way][1]
        for _, untold, _ in may.values():
            self.untold |= untold & {"value"}

    @property
    def most(self) -> int | None:
        """The most it may cost, whatever isn't told comes to; None without a bound."""
        told = sum(self.months)
        if self.untold - {"value", "early_exit", "damage", "excess_miles"}:
            return None
        charges = self.untold - {"value"}
        if charges == {"early_exit"}:
            return told + self.left * self.offer.payment
        others = [total for way, (total, _, is_open) in self.ways.items() if is_open and way != self.way]
        if charges:
            return told - self.ways[self.way][0] + others[0] if others else None
        return told
