"""The rows of a book, each as a record of the core with its car and its member."""

from collections.abc import Collection, Iterator
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.db.models import BooleanField, CharField, DateField, DecimalField, IntegerField, Q, Value
from django.db.models.expressions import RawSQL

from costing.core import records
from costing.core.money import to_pence
from costing.models import Agreement, CostEntry, Fill, FillUnit, PaymentFrequency, TeachingRecord, Valuation

ZERO = Decimal(0)

Record = TypeVar("Record")
#: A car's id, a member's id, and that member's record of the car.
Row = tuple[int, int, Record]

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


def costs_of(
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
            "pk",
        )
    )
    for car_id, member_id, paid_on, category, amount, first, last, miles, ended_on, key in rows:
        cost = records.Cost(paid_on, category, to_pence(amount), first, last, miles, ended_on, key)
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


def fills_of(ids: Collection[int], since: date) -> Iterator[Row[records.Fill]]:
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
            "pk",
        )
    )
    for car_id, member_id, filled_on, odometer, quantity, stored_unit, amount, brimmed, gap_before, key in rows:
        unit: records.Unit = "kwh" if stored_unit == FillUnit.KWH else "litre"
        thousandths, pence = int(quantity * 1000), to_pence(amount)
        fill = records.Fill(filled_on, odometer, thousandths, unit, pence, brimmed, gap_before, key=key)
        yield car_id, member_id, fill


def teaching_of(ids: Collection[int], members: Collection[int]) -> Iterator[Row[records.Teaching]]:
    """Yield the teaching records of the cars, and those of the members in whichever car."""
    rows = (
        TeachingRecord.objects.standing()
        .filter(Q(car__in=ids) | Q(member__in=members))
        .order_by()
        .values_list("car_id", "member_id", "from_on", "to_on", "lesson_count", "minutes", "private_miles")
    )
    for car_id, member_id, from_on, to_on, lesson_count, minutes, private_miles in rows:
        yield car_id, member_id, records.Teaching(from_on, to_on, lesson_count, minutes, private_miles, member_id)


def holdings_of(ids: Collection[int]) -> Iterator[Row[records.Agreement | records.Valuation]]:
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
