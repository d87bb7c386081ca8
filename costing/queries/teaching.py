"""In which car a member teaches."""

from datetime import date

from costing.models import TeachingRecord
from fleet.models import Car
from fleet.queries import cars_of
from instructors.models import Member


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
