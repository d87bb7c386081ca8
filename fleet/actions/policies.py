"""What was answered about an insurance policy where it was entered, corrected or renewed."""

from collections.abc import Mapping
from types import MappingProxyType

from django.db import transaction
from django.utils import timezone

from config.history import delete_as
from fleet.actions.acts import note_act
from fleet.actions.confirmations import confirm_points
from fleet.models import Car, Confirmation
from instructors.models import Member

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
