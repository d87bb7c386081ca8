"""Which entries and cars are a member's own, and what the fills say of a car's miles."""

from collections.abc import Collection, Iterator
from datetime import date
from functools import reduce
from operator import or_

from django.db.models import Exists, Max, OuterRef, Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from costing.models import Agreement, CostEntry, Entry, Fill, TeachingRecord, Valuation
from fleet.models import Car
from instructors.models import Member

#: The kinds of entry a member logs, as they stand in addresses.
ENTRY_MODELS: dict[str, type[Entry]] = {
    "fill": Fill,
    "cost": CostEntry,
    "lessons": TeachingRecord,
}


def cars_with_money_of(member: Member) -> list[Car]:
    """The cars a member keeps, and those they logged something of before the keeper changed."""
    own = {"car": OuterRef("pk"), "member": member}
    logged = (model.objects.filter(**own) for model in ENTRY_MODELS.values())
    held = (Agreement.objects.filter(**own), Valuation.objects.filter(**own))
    mine = [Q(keeper=member), *(Q(Exists(rows)) for rows in (*logged, *held))]
    return list(Car.objects.filter(reduce(or_, mine)))


def has_logged_on(member: Member, car: Car) -> bool:
    """Whether the member has logged anything on a car, or how they hold it."""
    own = Q(car=car, member=member)
    held = (Agreement.objects.filter(own), Valuation.objects.filter(own))
    return any(rows.exists() for rows in (*(model.objects.filter(own) for model in ENTRY_MODELS.values()), *held))


def entry_for(member: Member, kind: str, pk: int) -> Entry:
    """One of the member's own entries. Raises Http404 for anybody else's, as for one that is not there."""
    if kind not in ENTRY_MODELS:
        raise Http404
    return get_object_or_404(ENTRY_MODELS[kind].objects.select_related("car"), member=member, pk=pk)


def fill_readings(car_ids: Collection[int], since: date | None = None) -> Iterator[tuple[int, date, int]]:
    """Car id, day and miles of every standing fill; with ``since``, of that day on and the last one before.

    One of settings.ODOMETER_SOURCES: two queries at the most, however many cars there are.
    """
    fills = Fill.objects.standing().filter(car__in=car_ids)
    if since is not None:
        before = fills.filter(filled_on__lt=since).order_by().values_list("car_id")
        # An odometer never falls, so the highest fill is the last one.
        yield from before.annotate(Max("filled_on"), Max("odometer"))
        fills = fills.filter(filled_on__gte=since)
    yield from fills.order_by().values_list("car_id", "filled_on", "odometer")
