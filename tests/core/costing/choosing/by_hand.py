"""One offer's cash flow by the slowest road: a walk over months and days that puts each sum where it falls.

Written from the rules of the offers file alone, on purpose unlike the core: plain tables as the file holds them,
fractions of a pound, nothing imported from the core. Only what it leaves open is taken from there:

* A hire that is renewed asks for its fees again, with the new term's first payment, and for its deposit when the
  term before has been paid; a renewed term that runs past the horizon is left early like any other.
* Weeks of notice are charged in full, however few remain; a week is 12/52 of a monthly payment.
* Each sum is rounded half up to the penny by itself, so every month's part of a paused payment too.
* Paused weeks are taken from the monthly payments one after the other, from the month in which the first falls.
* A week off counts if it lies inside the horizon; as many as are taught in it take all its miles.
* The last week of a quarter may end a day or two after its last month: it is paid with that month.
* A settlement where no rate answers is what is still to pay.
"""

import calendar
import math
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

Table = dict[str, Any]

#: Whether the car stays somebody else's, by kind of offer; one that is not here is not known.
IS_HIRE = {"owned": False, "hire_purchase": False, "pcp": False, "contract_hire": True, "weekly_rental": True}


def pence(pounds: Any) -> int:
    """Whole pence of a sum in pounds, half up, away from zero."""
    exact = Fraction(pounds) * 100
    nearest = math.floor(abs(exact) + Fraction(1, 2))
    return nearest if exact >= 0 else -nearest


def months_later(day: date, count: int) -> date:
    """The same day of a later month, or its last day where it has no such day."""
    year, month = day.year, day.month
    for _ in range(count):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


class ByHand:
    """The cash flow of one offer in pence, by month 0..n, of tables as the file holds them."""

    def __init__(
        self, use: Table, running: Table, offer: Table, off: Table | None = None, leave_at_month: int | None = None
    ) -> None:
        self.use, self.running, self.offer = use, running, offer
        self.n: int = leave_at_month or use["months"]
        self.is_hire = IS_HIRE[offer["kind"]]
        self.by_week = offer.get("frequency", "month") == "week"
        self.weeks_off: list[int] = []
        if off:
            weeks = range(off["from_week"], off["from_week"] + off["weeks"])
            self.weeks_off = [week for week in weeks if week <= self.n * 52 // 12]
        self.months = [0] * (self.n + 1)
        self._pay_for_the_car()
        self._run_it()
        self._leave_it()

    def pounds(self, key: str) -> Fraction:
        """A sum of the offer's, nothing where it is not given."""
        return Fraction(self.offer.get(key, 0))

    def put(self, month: int, pounds: Any) -> None:
        """Pay pounds in a month."""
        self.months[month] += pence(pounds)

    def spread(self, pounds: Any) -> None:
        """Share one sum over months 1..n: what is used by the end of each, rounded down, less what was before."""
        whole, used = pence(pounds), 0
        for month in range(1, self.n + 1):
            now = math.floor(Fraction(whole * month, self.n))
            self.months[month] += now - used
            used = now

    # The car itself

    def month_of(self, number: int) -> int:
        """Where the payment of that number falls; number 0 is the start."""
        if not self.by_week:
            return number
        start = self.use["starts_on"]
        due, month = start + timedelta(days=7 * number), 0
        while month < self.n and months_later(start, month) < due:
            month += 1
        return month

    @property
    def inside(self) -> int:
        """How many payments could fall inside the horizon."""
        return self.n * 52 // 12 if self.by_week else self.n

    @property
    def made(self) -> int:
        """How many do."""
        return self.inside if self.is_hire else min(self.inside, self.offer["payments"])

    def _pay_for_the_car(self) -> None:
        if self.offer["kind"] == "owned":
            self.put(0, self.pounds("price"))
            return
        term = self.offer["payments"]
        for number in range(self.made + 1):
            begins_a_term = number < self.made and (number % term == 0 if self.is_hire else number == 0)
            if begins_a_term or number == 0:
                self.put(self.month_of(number), self.pounds("deposit") if begins_a_term or not self.is_hire else 0)
            if begins_a_term:
                self.put(self.month_of(number + 1), self.pounds("fees"))
            if number:
                self.put(self.month_of(number), self.pounds("payment"))
        if not self.is_hire and self.made == term and not self._is_handed_back():
            self.put(self.month_of(term), self.pounds("final_payment"))
        if self.offer.get("pauses_when_off") and self.weeks_off:
            self._pause()

    def _pause(self) -> None:
        payment = self.pounds("payment")
        if self.by_week:
            for week in self.weeks_off:
                if week <= self.made:
                    self.put(self.month_of(week), -payment)
            return
        start, month = self.use["starts_on"], 0
        while month < self.n and months_later(start, month) < start + timedelta(days=7 * self.weeks_off[0]):
            month += 1
        last_paid = months_later(start, self.made)
        inside = [w for w in self.weeks_off if self.made == self.n or start + timedelta(days=7 * w) <= last_paid]
        left = Fraction(len(inside) * 12, 52)
        while month + left > self.made + 1:
            month -= 1
        while left > 0 and month <= self.made:
            self.put(month, -payment * min(left, 1))
            left, month = left - 1, month + 1

    # Running it

    @property
    def miles(self) -> Fraction:
        """All miles of the horizon."""
        taught = Fraction(self.use["weeks_taught_per_year"]) * self.n / 12
        whole = Fraction(self.use["miles_per_year"]) * self.n / 12
        return whole * max(Fraction(0), 1 - len(self.weeks_off) / taught)

    def _run_it(self) -> None:
        running = {key: value for key, value in self.running.items() if key not in self._included()}
        years = Fraction(self.n, 12)
        self.put(0, running.get("fit_out", 0))
        for month in range(self.n + 1):
            if month % 12:
                continue
            if month < self.n:
                premiums = running.get("insurance") or [0]
                self.put(month, premiums[min(month // 12, len(premiums) - 1)])
                self.put(month, running.get("vehicle_tax_per_year", 0))
                self.put(month, running.get("breakdown_per_year", 0))
            if month and self._is_old_enough(month):
                self.put(month, running.get("mot", 0))
        self.spread(Fraction(running.get("servicing_per_year", 0)) * years)
        self.spread(Fraction(running.get("repairs_per_year", 0)) * years)
        self.spread(Fraction(running.get("tyre_set", 0)) * self.miles / Fraction(running.get("tyre_set_miles", 25_000)))
        self.spread(Fraction(running.get("fuel_pence_per_mile", 0)) / 100 * self.miles)

    def _included(self) -> list[str]:
        keys = {
            "vehicle_tax": "vehicle_tax_per_year",
            "breakdown": "breakdown_per_year",
            "servicing": "servicing_per_year",
            "repairs": "repairs_per_year",
            "tyres": "tyre_set",
            "fuel": "fuel_pence_per_mile",
        }
        return [keys.get(part, part) for part in self.offer.get("includes", [])]

    def _is_old_enough(self, month: int) -> bool:
        first = self.offer.get("first_registered")
        return first is None or months_later(first, 36) <= months_later(self.use["starts_on"], month)

    # Its end

    def _is_handed_back(self) -> bool:
        return self.offer["kind"] == "pcp" and self.offer.get("at_end") == "hand_back"

    def _leave_it(self) -> None:
        if self.is_hire:
            self._hand_back(Fraction(self.n, 12))
            self.put(self.n, self._early_exit())
        elif self.offer["kind"] == "owned":
            self.put(self.n, -self.pounds("value_at_horizon"))
        elif self.made < self.offer["payments"]:
            self.put(self.n, self._settlement())
            self.put(self.n, -self.pounds("value_at_horizon"))
        elif self._is_handed_back():
            self._hand_back(Fraction(self.offer["payments"], 52 if self.by_week else 12))
        else:
            self.put(self.n, -self.pounds("value_at_horizon"))

    def _hand_back(self, years: Fraction) -> None:
        if "mileage_allowance" in self.offer:
            above = self.miles - Fraction(self.offer["mileage_allowance"]) * years
            self.put(self.n, max(Fraction(0), above) * self.pounds("excess_pence_per_mile") / 100)
        self.put(self.n, self.pounds("damage"))

    def _early_exit(self) -> Fraction:
        rule, remaining, term = self.offer.get("early_exit"), self.made, self.offer["payments"]
        while remaining > 0:
            remaining -= term
        if rule is None or remaining == 0:
            return Fraction(0)
        value = Fraction(rule["value"])
        if rule["kind"] == "share_of_remaining":
            return value * -remaining * self.pounds("payment")
        return value * self.pounds("payment") * (1 if self.by_week else Fraction(12, 52))

    def _settlement(self) -> Decimal:
        """What the payments to come are worth at the agreement's rate, found by halving an interval."""
        flows = [float(self.pounds("payment"))] * self.offer["payments"]
        flows[0] += float(self.pounds("fees"))
        flows[-1] += float(self.pounds("final_payment"))
        lent = float(self.pounds("price") - self.pounds("deposit"))

        def worth(of: list[float], v: float) -> float:
            """What they are worth a period before the first, a pound being worth v a period earlier."""
            return math.fsum(flow * v**k for k, flow in enumerate(of, 1))

        low, high = 0.0, 2.5
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (low, middle) if worth(flows, middle) > lent else (middle, high)
        return Decimal(repr(worth(flows[self.made :], low)))
