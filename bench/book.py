"""Ten years of a co-op of 50 cars, written straight into the tables: 60,000 fills, 25,000 costs, 25,000 records."""

from datetime import date, timedelta
from decimal import Decimal
from random import Random
from uuid import UUID

from costing.models import Agreement, CostEntry, Fill, TeachingRecord, Valuation
from fleet.core.points import POINTS
from fleet.models import Car, Defect, DueItem, OdometerReading, TreadReading, TyreMove, WalkaroundCheck, Wheel
from instructors.models import Cooperative, Member

CARS, YEARS = 50, 10
FILLS, COSTS, TEACHING = 60_000 // CARS, 25_000 // CARS, 25_000 // CARS
LAST = date(2026, 10, 31)
FIRST = date(2016, 11, 1)
DAYS = (LAST - FIRST).days + 1
MILES_A_DAY = 62
CHECKS, DEFECTS, TREADS = 52 * YEARS, 12 * YEARS, 4 * YEARS
#: One cost in fifty is tyres by the mile, one in ten covers a year, the rest are paid and done.
TYRES_EVERY, COVER_EVERY = 50, 10


def write_book(cars: int = CARS) -> None:
    """Write the book of ``cars`` members with a car each; the same every time."""
    Cooperative.objects.create(name="Bench co-operative")
    chance = Random(1)  # noqa: S311 - made-up figures, not secrets
    for number in range(cars):
        member = Member.objects.create_user(
            f"member{number:03}@bench.example", name=f"Member {number:03}", joined_on=FIRST
        )
        car = Car.objects.create(registration=f"QZ{number:02}BCH", keeper=member, fuel="petrol", in_service_from=FIRST)
        _write_car(car, member, chance)
        _write_condition(car, member, number, chance)


def _write_car(car: Car, member: Member, chance: Random) -> None:
    def ref() -> str:
        return str(UUID(int=chance.getrandbits(128)))

    def day(index: int, count: int) -> date:
        return FIRST + timedelta(days=index * DAYS // count)

    common = {"car": car, "member": member}
    Fill.objects.bulk_create(
        Fill(
            ref=ref(), **common, filled_on=day(i, FILLS), odometer=(day(i, FILLS) - FIRST).days * MILES_A_DAY,
            quantity=Decimal(chance.randint(15_000, 30_000)) / 1000, unit="litre",
            amount=Decimal(chance.randint(2_000, 4_500)) / 100, brimmed=i % 6 != 5,
        )
        for i in range(FILLS)
    )  # fmt: skip
    CostEntry.objects.bulk_create(_cost(i, day(i, COSTS), ref(), common, chance) for i in range(COSTS))
    TeachingRecord.objects.bulk_create(
        TeachingRecord(
            ref=ref(), **common, from_on=day(i, TEACHING), to_on=day(i, TEACHING) + timedelta(days=6),
            lesson_count=24, minutes=1_800, private_miles=40,
        )
        for i in range(TEACHING)
    )  # fmt: skip
    OdometerReading.objects.bulk_create(
        OdometerReading(car=car, read_on=day(i, 120), miles=(day(i, 120) - FIRST).days * MILES_A_DAY)
        for i in range(120)
    )
    Agreement.objects.create(
        **common, starts_on=FIRST, kind="hire_purchase", price=12_000, deposit=1_000, payment=Decimal("289.10"),
        payments=48, frequency="month", fees=10,
    )  # fmt: skip
    for year in range(1, YEARS):
        Valuation.objects.create(**common, valued_on=date(2016 + year, 11, 1), value=12_000 - 1_100 * year)


def _write_condition(car: Car, member: Member, number: int, chance: Random) -> None:
    """A look round every week, a defect every month, tread every quarter and new tyres every other year."""

    def day(index: int, count: int) -> date:
        return FIRST + timedelta(days=index * DAYS // count)

    WalkaroundCheck.objects.bulk_create(
        WalkaroundCheck(
            ref=f"check-{number}-{i}", car=car, member=member, checked_on=day(i, CHECKS), points=list(POINTS)
        )
        for i in range(CHECKS)
    )
    Defect.objects.bulk_create(
        Defect(
            ref=f"defect-{number}-{i}", car=car, reported_by=member, severity="watch", words="Chip in the windscreen",
            found_on=day(i, DEFECTS), state="closed", closed_on=day(i, DEFECTS) + timedelta(days=9),
        )
        for i in range(DEFECTS)
    )  # fmt: skip
    Defect.objects.create(
        ref=f"open-{number}", car=car, reported_by=member, words="Wiper smears", found_on=LAST,
        severity=("watch", "watch", "before_next_lesson", "dangerous")[number % 4],
    )  # fmt: skip
    TreadReading.objects.bulk_create(
        TreadReading(
            car=car, wheel=wheel, read_on=day(i, TREADS),
            inner=(depth := Decimal(80 - i % 8 * 9) / 10), centre=depth, outer=depth,
        )
        for i in range(TREADS)
        for wheel in Wheel.values
    )  # fmt: skip
    TyreMove.objects.bulk_create(
        TyreMove(car=car, moved_on=day(i, TREADS), wheel=wheel) for i in range(0, TREADS, 8) for wheel in Wheel.values
    )
    for kind in ("mot", "vehicle_tax", "insurance", "dual_controls"):
        DueItem.objects.create(car=car, kind=kind, due_on=LAST + timedelta(days=chance.randint(-9, 360)))
    DueItem.objects.create(car=car, kind="service", due_miles=(LAST - FIRST).days * MILES_A_DAY + 4_000)
    DueItem.objects.create(member=member, kind="adi_registration", due_on=LAST + timedelta(days=10 * number))


def _cost(index: int, paid_on: date, ref: str, common: dict[str, object], chance: Random) -> CostEntry:
    entry = CostEntry(ref=ref, **common, paid_on=paid_on, category="repairs", amount=chance.randint(10, 200))
    if index % TYRES_EVERY == 0:
        entry.category, entry.covers_miles = "tyres", 25_000
    elif index % COVER_EVERY == 1:
        entry.category = "insurance"
        entry.covers_from, entry.covers_to = paid_on, paid_on + timedelta(days=364)
    return entry
