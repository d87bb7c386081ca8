"""Made-up books of any number of cars, the same every time, written straight into PostgreSQL's tables by COPY."""

import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any, NamedTuple
from uuid import UUID

import time_machine
from django.contrib.auth.hashers import make_password
from django.core.management import call_command
from django.db import connection, models
from django.test import Client
from simple_history.utils import bulk_create_with_history

from costing.models import Agreement, CostEntry, Fill, TeachingRecord, Valuation
from fleet.core.points import POINTS
from fleet.models import Car, Defect, DueItem, OdometerReading, TreadReading, TyreMove, WalkaroundCheck, Wheel
from instructors.models import Cooperative, Member

#: The last day on which anything is logged, and the day on which everything is measured: October is closed then.
LAST, TODAY = date(2026, 10, 31), date(2026, 11, 10)
#: The month that is closed on that day.
NEWEST = LAST.replace(day=1)
MILES_A_DAY = 62
#: Tyres are bought to last so many miles.
TYRE_MILES = 25_000
#: One cost in so many is tyres, one in so many covers a year; the rest are paid and done.
TYRES_EVERY, COVER_EVERY = 50, 10

Row = dict[str, Any]


class History(NamedTuple):
    """How long a book has been kept, and how many records of each kind a car has in a year."""

    years: int
    fills: int
    costs: int
    lessons: int
    checks: int
    defects: int
    treads: int

    @property
    def first(self) -> date:
        """The first day of the book."""
        return LAST.replace(year=LAST.year - self.years) + timedelta(days=1)

    def days(self, a_year: int) -> list[date]:
        """The days of records of which there are ``a_year``, evenly spread; the last day is one: its month is known."""
        count, span = a_year * self.years, (LAST - self.first).days
        return [self.first + timedelta(days=index * span // (count - 1)) for index in range(count)]

    def miles(self, on: date) -> int:
        """What the odometer of every car shows on a day."""
        return (on - self.first).days * MILES_A_DAY


#: With 50 cars 60,000 fills, 25,000 costs and 25,000 lesson records.
TEN_YEARS = History(years=10, fills=120, costs=50, lessons=50, checks=52, defects=12, treads=4)
#: As little as a closing can be made of, so that thousands of cars are written and closed in seconds.
TWO_THIN_YEARS = History(years=2, fills=24, costs=12, lessons=24, checks=4, defects=2, treads=1)


def at_noon() -> Any:
    """Hold the clock of this process at noon of the day on which everything is measured."""
    return time_machine.travel(datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC), tick=False)


def client_of(member: Member) -> Client:
    """A browser in which the member has signed in."""
    client = Client(headers={"host": "localhost"})
    client.force_login(member)
    return client


def coordinator_client() -> Client:
    """A browser in which a coordinator without a car has signed in."""
    email = "coordinator@bench.example"
    found = Member.objects.filter(email=email).first()
    return client_of(found or Member.objects.create_superuser(email, name="Coordinator"))


def write_book(cars: int, history: History) -> list[Car]:
    """Empty the tables and write a book of ``cars`` cars, each with a keeper of its own. Returns the cars."""
    call_command("flush", interactive=False, verbosity=0)
    Cooperative.objects.create(name="Bench co-operative")
    return add_cars(cars, history)


def add_cars(until: int, history: History) -> list[Car]:
    """Write so many cars more that the book has ``until``, and have the database look at its tables."""
    numbers = range(Car.objects.count(), until)
    # The day on which a row is made is part of the row.
    with time_machine.travel(datetime(2026, 11, 1, 9, tzinfo=UTC), tick=False):
        members = Member.objects.bulk_create(
            Member(
                email=f"m{number}@bench.example",
                name=f"Member {number:04}",
                joined_on=history.first,
                password=make_password(None),
            )
            for number in numbers
        )
        cars = bulk_create_with_history(
            [_car(number, member, history) for number, member in zip(numbers, members, strict=True)], Car
        )
        with connection.cursor() as cursor:
            # Rows as these break no rule; asking the triggers and keys about each would take most of the time.
            cursor.execute("SET session_replication_role = replica")
            _write_records(cars, history)
            cursor.execute("RESET session_replication_role")
            cursor.execute("ANALYZE")
    return list(Car.objects.select_related("keeper").order_by("pk"))


def _car(number: int, keeper: Member, history: History) -> Car:
    hundred, unit = divmod(number, 100)
    letters = f"B{chr(ord('A') + hundred // 26)}{chr(ord('A') + hundred % 26)}"
    mark = f"QZ{unit:02}{letters}"
    return Car(registration=mark, keeper=keeper, fuel="petrol", in_service_from=history.first)


def _write_records(cars: Iterable[Car], history: History) -> None:
    for model, rows_of in _RECORDS:
        # Every car has figures of its own, and the same in every book.
        chances = ((car, Random(car.pk)) for car in cars)  # noqa: S311 - made-up figures, not secrets
        _copy(model, (row | {"car_id": car.pk} for car, chance in chances for row in rows_of(car, history, chance)))
    _copy(DueItem, (row for car in cars for row in _credentials(car)))


def _copy(model: type[models.Model], rows: Iterable[Row]) -> None:
    """Write rows of a table; a field that a row does not name has its default."""
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    defaults = {field.attname: field.get_default() for field in fields}
    columns = ", ".join(connection.ops.quote_name(field.column) for field in fields if field.column)
    table = model._meta.db_table
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(list((defaults | row).values()))


def _ref(chance: Random) -> str:
    return str(UUID(int=chance.getrandbits(128)))


def _fills(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for index, day in enumerate(history.days(history.fills)):
        yield {
            "ref": _ref(chance), "member_id": car.keeper_id, "filled_on": day, "odometer": history.miles(day),
            "quantity": Decimal(chance.randint(15_000, 30_000)) / 1000, "unit": "litre",
            "amount": Decimal(chance.randint(2_000, 4_500)) / 100, "brimmed": index % 6 != 5,
        }  # fmt: skip


def _costs(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for index, day in enumerate(history.days(history.costs)):
        bought: Row = {"category": "repairs"}
        if index % TYRES_EVERY == 0:
            bought = {"category": "tyres", "covers_miles": TYRE_MILES}
        elif index % COVER_EVERY == 1:
            bought = {"category": "insurance", "covers_from": day, "covers_to": day + timedelta(days=364)}
        yield {
            "ref": _ref(chance), "member_id": car.keeper_id, "paid_on": day, "amount": chance.randint(10, 200), **bought
        }  # fmt: skip


def _lessons(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for day in history.days(history.lessons):
        yield {
            "ref": _ref(chance), "member_id": car.keeper_id, "from_on": day, "to_on": day + timedelta(days=6),
            "lesson_count": 24, "minutes": chance.randint(1_500, 2_100), "private_miles": 40,
        }  # fmt: skip


def _readings(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for day in history.days(12):
        yield {"read_on": day, "miles": history.miles(day)}


def _agreement(car: Car, history: History, chance: Random) -> Iterator[Row]:
    yield {
        "member_id": car.keeper_id, "starts_on": history.first, "kind": "hire_purchase", "price": 12_000,
        "deposit": 1_000, "payment": Decimal("289.10"), "payments": 48, "frequency": "month", "fees": 10,
    }  # fmt: skip


def _valuations(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for year in range(1, history.years):
        valued_on = history.first.replace(year=history.first.year + year)
        yield {"member_id": car.keeper_id, "valued_on": valued_on, "value": 12_000 - 1_100 * year}


def _checks(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for day in history.days(history.checks):
        yield {"ref": _ref(chance), "member_id": car.keeper_id, "checked_on": day, "points": json.dumps(list(POINTS))}


def _defects(car: Car, history: History, chance: Random) -> Iterator[Row]:
    """Some that were put right, and one of today that keeps every second car off the road."""
    for day in history.days(history.defects):
        yield {
            "ref": _ref(chance), "reported_by_id": car.keeper_id, "severity": "watch", "found_on": day,
            "description": "Chip in windscreen", "state": "closed", "closed_on": day + timedelta(days=9),
        }  # fmt: skip
    yield {
        "ref": _ref(chance), "reported_by_id": car.keeper_id, "description": "Wiper smears", "found_on": LAST,
        "severity": ("watch", "watch", "before_next_lesson", "dangerous")[car.pk % 4],
    }  # fmt: skip


def _treads(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for index, day in enumerate(history.days(history.treads)):
        depth = Decimal(80 - index % 8 * 9) / 10
        yield from (
            {"wheel": wheel, "read_on": day, "inner": depth, "centre": depth, "outer": depth} for wheel in Wheel.values
        )


def _tyre_moves(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for day in history.days(history.treads)[::8]:
        yield from ({"moved_on": day, "wheel": wheel} for wheel in Wheel.values)


def _due_items(car: Car, history: History, chance: Random) -> Iterator[Row]:
    for kind in ("mot", "vehicle_tax", "insurance", "dual_controls"):
        yield {"kind": kind, "due_on": LAST + timedelta(days=chance.randint(-9, 360))}
    yield {"kind": "service", "due_miles": history.miles(LAST) + 4_000}


def _credentials(car: Car) -> Iterator[Row]:
    due_on = LAST + timedelta(days=10 * (car.keeper_id % 50))
    yield {"member_id": car.keeper_id, "kind": "adi_registration", "due_on": due_on}


_RECORDS = (
    (Fill, _fills),
    (CostEntry, _costs),
    (TeachingRecord, _lessons),
    (OdometerReading, _readings),
    (Agreement, _agreement),
    (Valuation, _valuations),
    (WalkaroundCheck, _checks),
    (Defect, _defects),
    (TreadReading, _treads),
    (TyreMove, _tyre_moves),
    (DueItem, _due_items),
)
