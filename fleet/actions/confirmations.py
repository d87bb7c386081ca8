"""Answers to the points of readiness that no other record tells."""

from collections.abc import Mapping
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from config.history import save_as
from fleet.actions.acts import note_act
from fleet.actions.odometer import lock_car, refuse_future
from fleet.core.requirements import ASKED
from fleet.models import Car, Confirmation
from instructors.models import Member


@transaction.atomic
def confirm_points(
    *, by: Member, car: Car, confirmed_on: date, answers: Mapping[str, bool | None]
) -> list[Confirmation]:
    """Write down for each point, by its name in ``fleet.core.requirements``, whether it is met; None says nothing.

    A second answer of a day replaces the first; the same again changes nothing. Returns the rows written. Raises
    ValidationError on ``confirmed_on`` if that day is yet to come, on a point that takes no answer.
    """
    refuse_future("confirmed_on", confirmed_on)
    if unknown := answers.keys() - ASKED.keys():
        raise ValidationError(dict.fromkeys(sorted(unknown), "This is not a point to be confirmed."))
    car = lock_car(car)
    there = {row.point: row for row in Confirmation.objects.filter(car=car, confirmed_on=confirmed_on)}
    written = []
    for point, is_met in answers.items():
        row = there.get(point) or Confirmation(car=car, point=point, confirmed_on=confirmed_on)
        if is_met is None or (row.pk and row.is_met == is_met):
            continue
        row.is_met, row.by = is_met, by
        save_as(by, row)
        written.append(row)
    if written:
        note_act(by, car, "points_confirmed")
    return written
