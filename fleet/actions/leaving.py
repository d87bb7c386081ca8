"""A member leaves: their last day, and what becomes of each of their cars, all or nothing."""

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.showing import day
from fleet.actions.cars import change_service
from fleet.actions.feeds import end_feeds
from fleet.actions.keepers import end_time, hand_over
from fleet.actions.odometer import lock_car
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import cars_left_by
from instructors.actions import record_leaving
from instructors.models import Member


class Becomes(NamedTuple):
    """What becomes of a leaver's car after their last day, on which it showed ``odometer`` miles.

    ``taker`` keeps it from then on; without one it ``leaves_service`` that day, or has no keeper.
    """

    odometer: int
    taker: Member | None = None
    leaves_service: bool = False


@transaction.atomic
def leave(*, by: Member, member: Member, left_on: date, cars: Mapping[int, Becomes]) -> Member:
    """Record a member's last day, and what becomes of each car that they keep, by its id.

    If that day has come, every car needs a decision; if it has not, none can be made, since its odometer cannot be read
    yet: the board shows until then that its keeper leaves. Due items go with the car, and the leaver's money stays
    theirs. Their calendar feeds end. All whom it concerns are mailed. The same again changes nothing. Raises
    ValidationError as ``record_leaving`` does, on ``becomes_7`` or ``odometer_7`` for what is wrong with car 7.
    """
    left = record_leaving(by=by, member=member, left_on=left_on)
    has_come = left_on <= timezone.localdate()
    for car in cars_left_by(left, left_on):
        if has_come and car.pk not in cars:
            raise ValidationError({f"becomes_{car.pk}": f"Say what becomes of {show(car.registration)}."})
        if not has_come and car.pk in cars:
            words = f"{day(left_on)} has not come yet: decide it then. The list of cars shows it until you have."
            raise ValidationError({f"becomes_{car.pk}": words})
        if has_come:
            _carry_out(by, car, left_on, cars[car.pk])
    if has_come:
        end_feeds(by=by, member=left)
    return left


def _carry_out(by: Member, car: Car, on: date, becomes: Becomes) -> None:
    try:
        if becomes.taker is not None:
            hand_over(by=by, car=car, keeper=becomes.taker, on=on, odometer=becomes.odometer)
        elif becomes.leaves_service:
            first = lock_car(car).in_service_from
            change_service(by=by, car=car, in_service_from=first, in_service_to=on, odometer=becomes.odometer)
        else:
            end_time(by=by, car=car, on=on, odometer=becomes.odometer)
    except ValidationError as refusal:
        words = refusal.message_dict
        fields = {name: "odometer" if name == "odometer" else "becomes" for name in words}
        raise ValidationError({f"{fields[name]}_{car.pk}": words[name] for name in words}) from refusal
