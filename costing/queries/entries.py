"""Which entries and cars are a member's own, and what fills say about a car's miles."""

from collections.abc import Collection
from datetime import date
from typing import TypeVar, cast
from uuid import UUID

from django.db.models import Max, Min, Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.timezone import localdate

from config.sql import Question, listed
from costing.models import (
    Agreement,
    Batch,
    CostEntry,
    Entry,
    Fill,
    PotBill,
    Repeat,
    Takings,
    TeachingRecord,
    Valuation,
)
from fleet.models import Car
from fleet.queries import cars_of, cars_with_ids
from instructors.models import Member

Logged = TypeVar("Logged", bound=Entry | Batch | PotBill | Repeat | Takings)

#: The kinds of entry, by their names in addresses.
ENTRY_MODELS: dict[str, type[Entry]] = {
    "fill": Fill,
    "cost": CostEntry,
    "lessons": TeachingRecord,
}

#: The day by which each kind of entry is sorted.
ENTRY_DAYS = {Fill: "filled_on", CostEntry: "paid_on", TeachingRecord: "to_on"}


def cars_with_money_of(member: Member) -> list[Car]:
    """Return the cars that a member keeps, and those they logged something on before the keeper changed."""
    kept = cars_of(member)
    logged = {car_id for _, car_id in _logged_on(Q(member=member))} - {car.pk for car in kept}
    return sorted([*kept, *cars_with_ids(logged)], key=lambda car: car.registration)


def has_logged_on(member_id: int, car: Car) -> bool:
    """Say whether a member has logged anything on a car, or recorded how they hold it or what it is worth."""
    return _logged_on(Q(car=car, member=member_id)).exists()


def _logged_on(own: Q) -> QuerySet:
    """Return the member and car of all entries, agreements and valuations, each pair once."""
    tables: list[QuerySet] = [model.objects.all() for model in ENTRY_MODELS.values()]
    tables += [Agreement.objects.all(), Valuation.objects.all()]
    first, *others = (rows.filter(own).order_by().values_list("member_id", "car_id") for rows in tables)
    return first.union(*others)


def entry_for(member: Member, kind: str, pk: int) -> Entry:
    """Return one of the member's own entries. Raises Http404 for anybody else's, as for one that does not exist."""
    if kind not in ENTRY_MODELS:
        raise Http404
    return get_object_or_404(ENTRY_MODELS[kind].objects.select_related("car"), member=member, pk=pk)


def logged_as(model: type[Logged], member: Member, ref: str | None) -> Logged | None:
    """Return what the member made with this reference already, voided or not; None for what is no reference."""
    try:
        known = {"pk" if model is Batch else "ref": str(UUID(ref or ""))}
    except ValueError:
        return None
    return cast(Logged | None, model._default_manager.filter(member=member, **known).first())


def batch_for(member: Member, pk: UUID) -> Batch:
    """Return one of the member's own batches. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Batch, member=member, pk=pk)


def fill_question(car_ids: Collection[int], since: date | None = None) -> Question:
    """Ask for the car id, day and miles of every standing fill; with ``since``, from then on and the last one before.

    This is one of settings.ODOMETER_SOURCES.
    """
    cars = listed(car_ids)
    if since is None:
        return Question(_FILLED.format(cars=cars), ())
    each_car = ", ".join(f"({int(car)})" for car in car_ids)
    sql = f"{_FILLED} AND filled_on >= %s UNION ALL {_LAST_FILLED}"
    return Question(sql.format(cars=cars, each_car=each_car), (since, since))


_FILLED = "SELECT car_id, filled_on, odometer FROM costing_fill WHERE voided_at IS NULL AND car_id IN ({cars})"
#: Each is looked up by the index. Both databases call the column of VALUES so.
_LAST_FILLED = """SELECT last.car_id, last.filled_on, last.odometer FROM (VALUES {each_car}) AS car
JOIN costing_fill last ON last.id = (
    SELECT before.id FROM costing_fill before
    WHERE before.car_id = car.column1 AND before.voided_at IS NULL AND before.filled_on < %s
    ORDER BY before.filled_on DESC, before.odometer DESC LIMIT 1
)"""


def first_entry_on(member: Member, car: Car | None = None) -> date | None:
    """Return the day of the member's earliest entry that stands, of one car or of any; None without. By one query."""
    first_days = ((Fill, "filled_on"), (CostEntry, "paid_on"), (TeachingRecord, "from_on"))
    own = Q(member=member, car=car) if car else Q(member=member)
    found, *others = (
        model.objects.standing().filter(own).order_by().values("member").annotate(first=Min(day)).values_list("first")
        for model, day in first_days
    )
    return min((first for (first,) in found.union(*others, all=True)), default=None)


#: The costs that somebody logged, in place of a payment that repeats too, and no repeat made.
BY_HAND = Q(repeat__isnull=True) | Q(settles__isnull=False)


def last_logged(member_ids: Collection[int]) -> dict[int, date]:
    """Return the last day on which, or for which, each of these members logged an entry that stands.

    This is settings.LAST_LOGGED. What a repeat made, nobody logged. It takes one query.
    """
    of_kinds = [
        model.objects.standing()
        .filter(BY_HAND if model is CostEntry else Q(), member__in=member_ids)
        .order_by()
        .values_list("member_id")
        .annotate(logged_at=Max("created_at"), of=Max(day))
        for model, day in ENTRY_DAYS.items()
    ]
    last: dict[int, date] = {}
    for pk, logged_at, of in of_kinds[0].union(*of_kinds[1:], all=True):
        last[pk] = max(filter(None, [last.get(pk), localdate(logged_at), of]))
    return last
