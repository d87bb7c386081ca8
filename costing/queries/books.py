"""A car's book for the costing core: plain records, from no more days than a period needs."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.db.models import BooleanField, CharField, DateField, DecimalField, IntegerField, Q, Value
from django.db.models.expressions import RawSQL
from django.utils import timezone

from costing.core import records
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.models import (
    Agreement,
    CostEntry,
    Fill,
    FillUnit,
    PaymentFrequency,
    TeachingRecord,
    Valuation,
)
from fleet.models import Car
from fleet.queries import Keepership, keeperships_of_cars, recorded_readings
from instructors.models import Member

ZERO = Decimal(0)
#: A day before anything that a book can hold.
_FIRST_EVER = date(1980, 1, 1)

Record = TypeVar("Record")
#: A car's id, a member's id, and that member's record of the car.
Row = tuple[int, int, Record]
#: By car id, the members whose books of it are wanted; None stands for everybody's records together.
Wanted = Mapping[int, Collection[int | None]]
#: By member id, the cars for which the member's own book is wanted.
CarsOf = Mapping[int | None, Collection[Car]]
#: By car id, who kept it from when to when, each time cut to the days on which its keeper was a member.
Times = Mapping[int, Collection[Keepership]]
_Books = dict[tuple[int, int | None], list[Record]]


def car_books(
    cars: Collection[Car], period: records.Period, *, member: Member | None = None, times: Times | None = None
) -> dict[int, records.CarBook]:
    """Return each car's book with all that affects ``period``, by car id, by six queries however many cars there are.

    ``times`` say who kept which car, if that was asked for already: it saves a query.

    With ``member``, it is that member's own book: it holds only that member's money, agreements, valuations and
    teaching. Somebody else's fill still bounds the days of the next one, but costs nothing and breaks the chain from
    brim to brim.
    """
    whose = member.pk if member else None
    return books_of_members({whose: cars}, period, times)[whose]


def books_of_members(
    cars: CarsOf, period: records.Period, times: Times | None = None
) -> dict[int | None, dict[int, records.CarBook]]:
    """Return the `car_books` of each member and their ``cars``, by member id and car id; six queries in all."""
    wanted: dict[int, list[int | None]] = defaultdict(list)
    for whose, of_one in cars.items():
        for car in of_one:
            wanted[car.pk].append(whose)
    members = Q() if None in cars else Q(member__in=cars.keys())
    keepings = _keepings(keeperships_of_cars(wanted, of_members=True) if times is None else times)
    turning = set() if None in cars else _turning(cars, keepings, period)
    costs = _grouped(_costs(wanted, period, members, turning), wanted)
    # Miles are needed from the day before the period, or from the day on which something was bought by the mile.
    by_miles = [cost.paid_on for own in costs.values() for cost in own if cost.covers_miles]
    since = _FIRST_EVER if turning else min([period.first - ONE_DAY, *by_miles])
    every_fill = list(_fills(wanted, since))
    fills = _own_fills(every_fill, wanted)
    since = min([since, *(fill.filled_on for _, _, fill in every_fill)])
    readings: dict[int, list[records.Reading]] = defaultdict(list)
    for car_id, read_on, miles in recorded_readings(wanted, since):
        readings[car_id].append(records.Reading(read_on, miles))
    keepers = {one.keeper for times in keepings.values() for one in times} if None in cars else set()
    every_record = list(_teaching(wanted, keepers | {whose for whose in cars if whose is not None}))
    teaching = _grouped((row for row in every_record if row[0] in wanted and _touches(row[2], period)), wanted)
    logged = _logged(every_record)
    holdings = _grouped(_holdings(wanted), wanted)
    today = timezone.localdate()
    return {
        whose: {
            car.pk: records.CarBook(
                service=records.Service(car.in_service_from, car.in_service_to),
                readings=tuple(readings[car.pk]),
                costs=tuple(costs[car.pk, whose]),
                fills=tuple(fills[car.pk, whose]),
                teaching=tuple(teaching[car.pk, whose]),
                agreements=tuple(_of_one_kind(holdings[car.pk, whose], records.Agreement)),
                valuations=tuple(_of_one_kind(holdings[car.pk, whose], records.Valuation)),
                keepings=keepings[car.pk],
                logged=tuple(span for keeper in _whose(whose, keepings[car.pk]) for span in logged[keeper]),
                whose=whose,
                as_of=today,
            )
            for car in of_one
        }
        for whose, of_one in cars.items()
    }


def _turning(cars: CarsOf, keepings: Mapping[int, Iterable[records.Keeping]], period: records.Period) -> set[int]:
    """Return the cars with which a time begins or ends in ``period``.

    There, what was paid on other days counts too: before a time on its first day, after the last one on its last day.
    """
    ends = {car.pk: [car.in_service_from, car.in_service_to] for of_one in cars.values() for car in of_one}
    for car_id, bounds in ends.items():
        bounds += [day for one in keepings[car_id] for day in (one.first, one.last)]
    return {car_id for car_id, bounds in ends.items() if any(day and _holds(period, day) for day in bounds)}


def _holds(period: records.Period, day: date) -> bool:
    return period.first <= day <= period.last


def _whose(whose: int | None, keepings: Iterable[records.Keeping]) -> Collection[int]:
    """Return whose lessons tell how far a book is known: the member's or, of the car's own book, its keepers'."""
    return {one.keeper for one in keepings} if whose is None else {whose}


def _touches(record: records.Teaching, period: records.Period) -> bool:
    return record.from_on <= period.last and record.to_on >= period.first


def _keepings(times: Times) -> dict[int, tuple[records.Keeping, ...]]:
    return {
        car_id: tuple(records.Keeping(one.keeper_id, one.first or date.min, one.last) for one in of_car)
        for car_id, of_car in times.items()
    }


def _logged(rows: Iterable[Row[records.Teaching]]) -> Mapping[int | None, list[records.Logged]]:
    """Return the days of each member's teaching records, in whichever car."""
    found: dict[int | None, list[records.Logged]] = defaultdict(list)
    for _, member_id, record in rows:
        found[member_id].append(records.Logged(member_id, record.from_on, record.to_on))
    return found


def _grouped(rows: Iterable[Row[Record]], wanted: Wanted) -> _Books[Record]:
    """Return the records of each wanted book."""
    grouped: _Books[Record] = defaultdict(list)
    for car_id, member_id, record in rows:
        for whose in wanted[car_id]:
            if whose is None or whose == member_id:
                grouped[car_id, whose].append(record)
    return grouped


def _own_fills(rows: Iterable[Row[records.Fill]], wanted: Wanted) -> _Books[records.Fill]:
    """Return the fills of each wanted book, with other members' fills stripped of their details.

    The day of somebody else's fill ends the days that the fill before it covers. How much went in is private, so no
    stretch from brim to brim begins with it, ends with it or runs over it.
    """
    grouped: _Books[records.Fill] = defaultdict(list)
    for car_id, member_id, fill in rows:
        for whose in wanted[car_id]:
            if whose is None or whose == member_id:
                grouped[car_id, whose].append(fill)
            else:
                blank = fill._replace(thousandths=0, pence=0, brimmed=False, gap_before=True, is_anothers=True)
                grouped[car_id, whose].append(blank)
    return grouped


#: Whether something bought by the mile is certainly used up by a day: the last fill before that day shows that many
#: miles more than the first one after it was paid, and an odometer never falls. It is SQL because the mapper takes
#: longer to write it than the database to answer, and every report asks.
_USED_UP = """COALESCE((
    SELECT late.odometer FROM costing_fill late WHERE late.car_id = costing_costentry.car_id
    AND late.voided_at IS NULL AND late.filled_on < %s ORDER BY late.filled_on DESC, late.odometer DESC LIMIT 1
) >= costing_costentry.covers_miles + (
    SELECT early.odometer FROM costing_fill early WHERE early.car_id = costing_costentry.car_id
    AND early.voided_at IS NULL AND early.filled_on > costing_costentry.paid_on
    ORDER BY early.filled_on, early.odometer LIMIT 1
), FALSE)"""


def _costs(
    ids: Collection[int], period: records.Period, members: Q, turning: Collection[int]
) -> Iterator[Row[records.Cost]]:
    """Yield the costs that were paid in ``period`` or of which it may use a part, and all of the cars ``turning``."""
    used_up = RawSQL(_USED_UP, [period.first], output_field=BooleanField())  # noqa: S611 - no words of a user
    rows = (
        CostEntry.objects.standing()
        .filter(members, car__in=ids)
        .filter(
            Q(paid_on__range=period)
            | Q(covers_to__gte=period.first)
            | (Q(covers_miles__isnull=False) & ~Q(used_up))
            | Q(car__in=turning)
        )
        .order_by()
        .values_list(
            "car_id",
            "member_id",
            "paid_on",
            "category",
            "amount",
            "covers_from",
            "covers_to",
            "covers_miles",
            "ended_on",
        )
    )
    for car_id, member_id, paid_on, category, amount, covers_from, covers_to, covers_miles, ended_on in rows:
        cost = records.Cost(paid_on, category, to_pence(amount), covers_from, covers_to, covers_miles, ended_on)
        yield car_id, member_id, cost


#: The day from which fills are needed to know the miles and fuel from some day on: that of each member's last brim of
#: either unit by then, where economy starts, or else of the last fill. It is SQL because the mapper has no minimum of
#: maxima.
_NEEDED_FROM = """COALESCE((
    SELECT MIN(lasts.day) FROM (
        SELECT COALESCE(MAX(CASE WHEN before.brimmed THEN before.filled_on END), MAX(before.filled_on)) AS day
        FROM costing_fill before WHERE before.voided_at IS NULL AND before.filled_on <= %s AND before.car_id IN ({ids})
        GROUP BY before.car_id, before.unit, before.member_id
    ) lasts
), %s)"""


def _fills(ids: Collection[int], since: date) -> Iterator[Row[records.Fill]]:
    """Yield the fills that are needed to know the miles and fuel from ``since`` on.

    Those after the period are read to the end: the first one after it says what happened inside, and few follow.
    """
    if not ids:
        return
    needed_from = RawSQL(  # noqa: S611 - no words of a user
        _NEEDED_FROM.format(ids=", ".join(["%s"] * len(ids))), [since, *ids, since], output_field=DateField()
    )
    rows = (
        Fill.objects.standing()
        .filter(car__in=ids, filled_on__gte=needed_from)
        .order_by()
        .values_list(
            "car_id",
            "member_id",
            "filled_on",
            "odometer",
            "quantity",
            "unit",
            "amount",
            "brimmed",
            "gap_before",
        )
    )
    for car_id, member_id, filled_on, odometer, quantity, stored_unit, amount, brimmed, gap_before in rows:
        unit: records.Unit = "kwh" if stored_unit == FillUnit.KWH else "litre"
        fill = records.Fill(filled_on, odometer, int(quantity * 1000), unit, to_pence(amount), brimmed, gap_before)
        yield car_id, member_id, fill


def _teaching(ids: Collection[int], members: Collection[int]) -> Iterator[Row[records.Teaching]]:
    """Yield the teaching records of the cars, and those of the members in whichever car."""
    rows = (
        TeachingRecord.objects.standing()
        .filter(Q(car__in=ids) | Q(member__in=members))
        .order_by()
        .values_list("car_id", "member_id", "from_on", "to_on", "lesson_count", "minutes", "private_miles")
    )
    for car_id, member_id, from_on, to_on, lesson_count, minutes, private_miles in rows:
        yield car_id, member_id, records.Teaching(from_on, to_on, lesson_count, minutes, private_miles, member_id)


def _holdings(ids: Collection[int]) -> Iterator[Row[records.Agreement | records.Valuation]]:
    """Yield each car's agreements and valuations, which are the rows without a kind, of whoever recorded them.

    Of those only the ones count on whose day they kept the car. Who kept it is not enough: a coordinator who takes a
    car over from a day long past would read what the former keeper pays and what the car was worth.
    """
    terms = ("price", "deposit", "payment", "payments", "frequency", "final_payment", "fees")
    agreements = Agreement.objects.filter(car__in=ids).order_by()
    valuations = Valuation.objects.filter(car__in=ids).order_by()
    no_money, no_count, no_words = Value(None, DecimalField()), Value(None, IntegerField()), Value("", CharField())
    no_terms = [no_money, no_money, no_count, no_words, no_money, no_money]
    rows = agreements.values_list("car_id", "member_id", "starts_on", "kind", *terms).union(
        valuations.values_list("car_id", "member_id", "valued_on", no_words, "value", *no_terms), all=True
    )
    for car_id, member_id, day, kind, price, deposit, payment, payments, frequency, final, fees in rows:
        if not kind:
            yield car_id, member_id, records.Valuation(day, to_pence(price))
            continue
        agreement = records.Agreement(
            starts_on=day,
            kind=kind,
            price=None if price is None else to_pence(price),
            deposit=to_pence(deposit or ZERO),
            payment=to_pence(payment or ZERO),
            payments=payments or 0,
            frequency="week" if frequency == PaymentFrequency.WEEK else "month",
            final_payment=to_pence(final or ZERO),
            fees=to_pence(fees or ZERO),
        )
        yield car_id, member_id, agreement


def _of_one_kind(rows: Iterable[tuple], kind: type[Record]) -> list[Record]:
    """Return those of ``rows`` that are records of one kind."""
    return [row for row in rows if isinstance(row, kind)]
