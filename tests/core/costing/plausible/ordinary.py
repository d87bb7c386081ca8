"""An ordinary year of one instructor, made up: what nobody should be asked about."""

import random
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from fleet.core.days import add_months

TODAY = date(2027, 1, 1)
BEGINS = date(2026, 1, 1)
Typed = dict[str, Any]

#: Litres of a tank (kWh of a battery), miles a litre (a kWh).
_CARS = {
    "petrol": ("litre", 45, 9.9),
    "diesel": ("litre", 50, 12.2),
    "electric": ("kwh", 60, 3.5),
    "plugin_hybrid": ("litre", 40, 13.0),
}


class Year:
    """Yields (kind, what is typed) day by day."""

    def __init__(self, seed: int, fuel: str) -> None:
        self.random = random.Random(seed)  # noqa: S311  # made-up figures
        self.fuel = fuel
        self.unit, self.tank, self.per_unit = _CARS[fuel]
        self.miles = self.random.randrange(8_000, 60_000)
        self.left = self.tank * 0.9
        self.per_day = self.random.uniform(35, 80)
        self.lesson = self.random.choice([60, 60, 75, 90])
        self.holiday = BEGINS + timedelta(days=self.random.randrange(60, 300))
        self.ill = BEGINS + timedelta(days=self.random.randrange(60, 300))
        self.motorway = {self.random.randrange(4, 48) for _ in range(3)}
        self.repair = self.random.randrange(30, 330)
        self.busy = self.random.randrange(30, 330)
        self.home = self.random.uniform(6.8, 7.2)

    def entries(self) -> Iterator[tuple[str, Typed]]:
        chance = self.random
        for number in range(365):
            day = BEGINS + timedelta(days=number)
            yield from self.costs_of(day, number)
            off = self.holiday <= day < self.holiday + timedelta(days=21)
            off = off or self.ill <= day < self.ill + timedelta(days=30)
            run = 0.0 if off else self.run_on(day, number)
            miles = round(run)
            cold = 0.85 if day.month in (12, 1, 2) else 1.0
            economy = self.per_unit * cold * chance.gauss(1, 0.06)
            if run > 150:
                economy *= 0.93
            for part in (miles // 2, miles - miles // 2):
                self.miles += part
                self.left -= part / economy
                if self.left < self.tank * 0.35 or (part and chance.random() < 0.03):
                    yield self.fill_on(day, number)
            if day.weekday() == 6:
                yield self.week_of(day - timedelta(days=6), off)

    def run_on(self, day: date, number: int) -> float:
        chance = self.random
        if number // 7 in self.motorway:
            return chance.uniform(120, 260)
        if day.weekday() == 6:
            return chance.uniform(0, 30)
        return max(0, chance.gauss(self.per_day, self.per_day / 4))

    def fill_on(self, day: date, number: int) -> tuple[str, Typed]:
        chance = self.random
        room = max(self.tank - self.left, 1)
        kind = chance.random()
        brimmed = True
        if kind < 0.15 and room > 12:
            quantity, brimmed = 10.0, False
        elif kind < 0.3 and room > 12:
            quantity, brimmed = room * chance.uniform(0.4, 0.8), False
        else:
            quantity = room * chance.uniform(0.96, 1.0)
        self.left += quantity
        drift = 1 + 0.1 * number / 365
        if self.unit == "kwh":
            price = 79 * chance.gauss(1, 0.02) if chance.random() < 0.25 else self.home
        else:
            price = 139 * drift * chance.gauss(1, 0.02) * (1.15 if number // 7 in self.motorway else 1)
        thousandths = round(quantity * 100) * 10
        return "fill", {
            "filled_on": day.isoformat(),
            "odometer": self.miles,
            "amount": max(1, round(thousandths * price / 1000)),
            "quantity": thousandths,
            "unit": self.unit,
            "brimmed": "on" if brimmed else "",
            "gap_before": "",
        }

    def costs_of(self, day: date, number: int) -> Iterator[tuple[str, Typed]]:
        chance = self.random
        if day.day == 5:
            yield cost(day, "finance", 28_950)
        if chance.random() < 0.2:
            yield cost(day, "cleaning", chance.choice([500, 900, 1_200, 1_590, 2_500]))
        if chance.random() < 0.12:
            yield cost(day, "parking_tolls", chance.choice([120, 250, 400, 620, 1_100]))
        if chance.random() < 0.04:
            yield cost(day, "other", chance.choice([450, 999, 1_450, 2_200, 3_800]))
        if number in (20, 200):
            yield cost(day, "servicing", chance.randrange(14_000, 32_000))
        if number in (60, 150, 250):
            yield cost(day, "repairs", chance.randrange(6_000, 18_000))
        if number == self.repair:
            yield cost(day, "repairs", 90_000)
        if number == 90:
            yield cost(day, "insurance", 140_000, 12)
        if number == 40:
            yield cost(day, "vehicle_tax", 19_500, 12)
        if number == 110:
            yield cost(day, "breakdown_cover", 6_200, 12)
        if number == 120:
            yield cost(day, "mot", 5_485)
        if number in (130, 131):
            yield cost(day, "tyres", chance.choice([18_000, 9_200, 34_000]) + number)

    def week_of(self, monday: date, off: bool) -> tuple[str, Typed]:
        chance = self.random
        lessons = [0 if off or number == 6 else max(0, round(chance.gauss(5, 1.5))) for number in range(7)]
        if (monday - BEGINS).days <= self.busy < (monday - BEGINS).days + 7 and not off:
            lessons[2] = 10
        minutes = sum(lessons) * self.lesson
        if lessons[1]:
            minutes += 30
        return "lessons", {
            "from_on": monday.isoformat(),
            "to_on": (monday + timedelta(days=6)).isoformat(),
            **{f"day_{number}": count for number, count in enumerate(lessons)},
            "hours": minutes,
            "private_miles": chance.randrange(0, 40) if not off else 0,
            "how": "",
        }


def cost(day: date, category: str, pence: int, months: int = 0) -> tuple[str, Typed]:
    """What is typed of a cost, with cover from its day if it covers months."""
    ends = add_months(day, months) - timedelta(days=1)
    return "cost", {
        "category": category,
        "amount": pence,
        "refund": "",
        "paid_on": day.isoformat(),
        "covers_from": day.isoformat() if months else None,
        "covers_to": ends.isoformat() if months else None,
        "covers_miles": None,
    }
