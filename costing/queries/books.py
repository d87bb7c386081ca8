"""A car's book as the costing core takes it: plain records, of no more days than a period needs."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.db.models import BooleanField, Max, Q
from django.db.models.expressions import RawSQL

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
from fleet.queries import recorded_readings
from instructors.models import Member

ZERO = Decimal(0)

Record = TypeVar("Record")


def car_books(
    cars: Collection[Car], period: records.Period, *, member: Member | None = None
) -> dict[int, records.CarBook]:
    """All that bears on ``period`` of each car, by car id, in seven queries however many cars there are.

    With ``member``, only that member's money and teaching: what somebody else put in the tank still bounds
    the days of the next fill, but costs nothing here and breaks the chain from brim to brim.
    """
    ids = [car.pk for car in cars]
    whose = Q(member=member) if member else Q()
    costs = _by_car(_costs(ids, period, whose))
    # Miles are needed from the day before the period, and from the day something was bought by the mile.
    by_miles = (cost.paid_on for own in costs.values() for cost in own if cost.covers_miles)
    since = _needed_from(ids, min([period.first - ONE_DAY, *by_miles]))
    fills = _by_car(_fills(ids, since, member))
    readings: dict[int, list[records.Reading]] = defaultdict(list)
    for car_id, read_on, miles in recorded_readings(ids, since):
        readings[car_id].append(records.Reading(read_on, miles))
    teaching = _by_car(_teaching(ids, period, whose))
    agreements = _by_car(_agreements(ids, whose))
    valuations = _by_car(_valuations(ids, whose))
    return {
        car.pk: records.CarBook(
            service=records.Service(car.in_service_from, car.in_service_to),
            readings=tuple(readings[car.pk]),
            costs=tuple(costs[car.pk]),
            fills=tuple(fills[car.pk]),
            teaching=tuple(teaching[car.pk]),
            agreements=tuple(agreements[car.pk]),
            valuations=tuple(valuations[car.pk]),
        )
        for car in cars
    }


def _by_car(rows: Iterable[tuple[int, Record]]) -> dict[int, list[Record]]:
    grouped: dict[int, list[Record]] = defaultdict(list)
    for car_id, record in rows:
        grouped[car_id].append(record)
    return grouped


#: True of something bought by the mile that is surely used up by a day: two fills before it, the first of them
#: after it was paid, lie as far apart as it was to last. As SQL, for the mapper takes longer to write it than the
#: database to answer, and every report asks.
_USED_UP = """EXISTS (
    SELECT 1 FROM costing_fill late WHERE late.car_id = costing_costentry.car_id AND late.voided_at IS NULL
    AND late.filled_on < %s AND late.odometer >= costing_costentry.covers_miles + (
        SELECT early.odometer FROM costing_fill early
        WHERE early.car_id = costing_costentry.car_id AND early.voided_at IS NULL
        AND early.filled_on > costing_costentry.paid_on ORDER BY early.filled_on, early.odometer LIMIT 1))"""


def _costs(ids: Sequence[int], period: records.Period, whose: Q) -> Iterator[tuple[int, records.Cost]]:
    """The costs of which something may be used, or which were paid, in ``period``."""
    used_up = RawSQL(_USED_UP, [period.first], output_field=BooleanField())  # noqa: S611 - no words of a user
    rows = (
        CostEntry.objects.standing()
        .filter(whose, car__in=ids)
        .filter(
            Q(paid_on__range=period) | Q(covers_to__gte=period.first) | (Q(covers_miles__isnull=False) & ~Q(used_up))
        )
        .order_by()
        .values_list(
            "car_id",
            "paid_on",
            "category",
            "amount",
            "covers_from",
            "covers_to",
            "covers_miles",
            "ended_on",
        )
    )
    for car_id, paid_on, category, amount, covers_from, covers_to, covers_miles, ended_on in rows:
        cost = records.Cost(paid_on, category, to_pence(amount), covers_from, covers_to, covers_miles, ended_on)
        yield car_id, cost


def _needed_from(ids: Sequence[int], since: date) -> date:
    """The day from which fills are needed to know the miles and fuel of ``since`` and after.

    It is that of the last brim of either unit by ``since``, where economy starts, or failing one of the last fill.
    What comes after the period is read to its end: the first fill and reading after it tell what happened inside,
    and little lies behind them.
    """
    before = Fill.objects.standing().filter(car__in=ids, filled_on__lte=since).order_by().values_list("car_id", "unit")
    lasts = before.annotate(brim=Max("filled_on", filter=Q(brimmed=True)), fill=Max("filled_on"))
    return min((brim or fill for _, _, brim, fill in lasts), default=since)


def _fills(ids: Sequence[int], since: date, member: Member | None) -> Iterator[tuple[int, records.Fill]]:
    rows = (
        Fill.objects.standing()
        .filter(car__in=ids, filled_on__gte=since)
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
        if member is None or member_id == member.pk:
            fill = records.Fill(filled_on, odometer, int(quantity * 1000), unit, to_pence(amount), brimmed, gap_before)
        else:
            # Its day ends what the fill before it covers. What went in and how full is its member's alone: no
            # stretch from brim to brim begins with it, ends with it or runs over it.
            fill = records.Fill(filled_on, odometer, 0, unit, 0, brimmed=False, gap_before=True, is_anothers=True)
        yield car_id, fill


def _teaching(ids: Sequence[int], period: records.Period, whose: Q) -> Iterator[tuple[int, records.Teaching]]:
    rows = (
        TeachingRecord.objects.standing()
        .filter(whose, car__in=ids, from_on__lte=period.last, to_on__gte=period.first)
        .order_by()
        .values_list("car_id", "from_on", "to_on", "lesson_count", "minutes", "private_miles")
    )
    for car_id, from_on, to_on, lesson_count, minutes, private_miles in rows:
        yield car_id, records.Teaching(from_on, to_on, lesson_count, minutes, private_miles)


def _agreements(ids: Sequence[int], whose: Q) -> Iterator[tuple[int, records.Agreement]]:
    rows = Agreement.objects.filter(whose, car__in=ids).order_by()
    terms = ("price", "deposit", "payment", "payments", "frequency", "final_payment", "fees")
    for (
        car_id,
        starts_on,
        kind,
        price,
        deposit,
        payment,
        payments,
        frequency,
        final,
        fees,
    ) in rows.values_list("car_id", "starts_on", "kind", *terms):
        yield (
            car_id,
            records.Agreement(
                starts_on=starts_on,
                kind=kind,
                price=None if price is None else to_pence(price),
                deposit=to_pence(deposit or ZERO),
                payment=to_pence(payment or ZERO),
                payments=payments or 0,
                frequency="week" if frequency == PaymentFrequency.WEEK else "month",
                final_payment=to_pence(final or ZERO),
                fees=to_pence(fees or ZERO),
            ),
        )


def _valuations(ids: Sequence[int], whose: Q) -> Iterator[tuple[int, records.Valuation]]:
    rows = Valuation.objects.filter(whose, car__in=ids).order_by().values_list("car_id", "valued_on", "value")
    for car_id, valued_on, value in rows:
        yield car_id, records.Valuation(valued_on, to_pence(value))
