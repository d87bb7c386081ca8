"""Many entries logged at once, by the rules of one: the car is locked once, its readings are read once."""

from bisect import insort
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from config.history import add_all_as
from costing.actions.cover import cover_bought, move_cover
from costing.actions.entries import check_odometer, reading_of, require_time
from costing.models import Entry
from fleet.actions import lock_car
from fleet.core.odometer import Reading
from fleet.models import Car
from fleet.queries import raw_readings_of
from instructors.models import Member


class NotLogged(Exception):
    """The book refuses one of several entries: which, and why."""

    def __init__(self, place: int, refusal: ValidationError) -> None:
        super().__init__(place)
        self.place, self.refusal = place, refusal


@transaction.atomic
def log_together(*, by: Member, entries: Sequence[Entry]) -> None:
    """Log new entries of one kind, each with its car, batch and a reference that no page has sent yet.

    They are taken in this order. Raises NotLogged, and logs none, if one of them would be refused by itself.
    """
    # In the order of their numbers, so that two who do this at once never wait for each other.
    cars = {car.pk: lock_car(car) for car in sorted({entry.car for entry in entries}, key=lambda car: car.pk)}
    readings = {pk: _readings_since_first(car, entries) for pk, car in cars.items()}
    for place, entry in enumerate(entries):
        entry.car, entry.member = cars[entry.car_id], by
        shown = reading_of(entry)
        try:
            require_time(entry.car, by, entry)
            check_odometer(entry, entry.car, among=readings[entry.car_id])
        except ValidationError as refusal:
            raise NotLogged(place, refusal) from refusal
        if shown:
            insort(readings[entry.car_id], shown)
    add_all_as(by, entries, reason="Logged")
    for entry in entries:
        move_cover(by=by, car=entry.car, before=None, after=cover_bought(entry))


def _readings_since_first(car: Car, entries: Sequence[Entry]) -> list[Reading]:
    """Return the car's readings that fills among the entries are held against, oldest first."""
    shown = [reading_of(entry) for entry in entries if entry.car_id == car.pk]
    days = [one.read_on for one in shown if one]
    return sorted(raw_readings_of([car.pk], since=min(days))[car.pk]) if days else []
