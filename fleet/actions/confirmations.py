"""Answers to the points of readiness that no other record tells, those about an insurance policy among them."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.history import delete_as, save_as
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


#: By point of readiness: met, not met, or None for not looked at yet. A point that was not asked is not there.
Answers = Mapping[str, bool | None]
NOTHING_ASKED: Answers = MappingProxyType({})


@transaction.atomic
def answer_about_policy(*, by: Member, car: Car | None, answers: Answers) -> None:
    """Write down, as of today, what the policy of ``car`` was found to cover.

    Not looked at yet takes back a yes, which was said of the policy before; its history keeps it. A no stands
    until somebody has looked: the car stays off the road that long.
    """
    if car is None or not answers:
        return
    not_looked_at = [point for point, answer in answers.items() if answer is None]
    taken_back = list(Confirmation.objects.filter(car=car, point__in=not_looked_at, is_met=True))
    for row in taken_back:
        delete_as(by, row)
    if taken_back:
        note_act(by, car, "policy_answered")
    confirm_points(by=by, car=car, confirmed_on=timezone.localdate(), answers=answers)
