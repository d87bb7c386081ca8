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
from fleet.core.requirements import ASKED, TUITION_COVER
from fleet.models import Car, Confirmation
from instructors.models import Member


@transaction.atomic
def confirm_points(
    *, by: Member, car: Car, confirmed_on: date, answers: Mapping[str, bool | None]
) -> list[Confirmation]:
    """Record for each point, by its name in ``fleet.core.requirements``, whether it is met; None: no answer.

    That a policy covers tuition is recorded for the keeper's grade, and by whom: after a handover the taker's word is
    the one that counts. A second answer on a day replaces the first; the same again changes nothing. Returns the rows
    written. Raises ValidationError on ``confirmed_on`` if that day is in the future, and on a point that takes none.
    """
    refuse_future("confirmed_on", confirmed_on)
    if unknown := answers.keys() - ASKED.keys():
        raise ValidationError(dict.fromkeys(sorted(unknown), "This is not a point to be confirmed."))
    car = lock_car(car)
    there = {row.point: row for row in Confirmation.objects.filter(car=car, confirmed_on=confirmed_on)}
    written = []
    for point, is_met in answers.items():
        row = there.get(point) or Confirmation(car=car, point=point, confirmed_on=confirmed_on)
        is_of_policy = point == TUITION_COVER
        grade = car.keeper.grade if is_of_policy and is_met else ""
        is_same = (row.is_met, row.grade) == (is_met, grade) and (not is_of_policy or row.by_id == by.pk)
        if is_met is None or (row.pk and is_same):
            continue
        row.is_met, row.grade, row.by = is_met, grade, by
        save_as(by, row)
        written.append(row)
    if written:
        note_act(by, car, "points_confirmed")
    return written


#: By point of readiness: met, not met, or None for not checked yet. A point that was not asked is absent.
Answers = Mapping[str, bool | None]
NOTHING_ASKED: Answers = MappingProxyType({})


@transaction.atomic
def answer_about_policy(*, by: Member, car: Car | None, answers: Answers) -> None:
    """Record, as of today, what the insurance policy of ``car`` covers.

    "Not checked yet" removes a yes, which was given for the previous policy; its history is kept. A no stands until
    somebody has checked: until then the car stays off the road.
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
