"""How far a member has logged their lessons, and in which car they teach."""

from datetime import date, timedelta

from django.db.models import Max

from costing.core.periods import ONE_DAY
from costing.core.records import Period
from costing.models import TeachingRecord
from fleet.models import Car
from fleet.queries import cars_of
from instructors.models import Member


def week_without_lessons(member_id: int, on: date) -> Period | None:
    """Return the days from Monday to ``on`` that come after the member's last teaching record; None if none do."""
    logged = TeachingRecord.objects.standing().filter(member_id=member_id).aggregate(last_on=Max("to_on"))
    monday = on - timedelta(days=on.weekday())
    first = max(monday, logged["last_on"] + ONE_DAY) if logged["last_on"] else monday
    return Period(first, on) if first <= on else None


def car_taught_in(member: Member, on: date) -> Car | None:
    """Return the car in service that the member keeps and last taught in, else any such car; None if there is none."""
    kept = [car for car in cars_of(member, on=on) if car.in_service_from <= on]
    taught_in = (
        TeachingRecord.objects.standing()
        .filter(member=member, car__in=kept)
        .order_by("-to_on", "-id")
        .values_list("car_id", flat=True)
        .first()
    )
    return next((car for car in kept if car.pk == taught_in), kept[0] if kept else None)
