"""Erasing what the fleet holds of a member. The history of the cars stays: it shows that they were safe to teach in."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from config.erasing import take_out
from config.history import add_all_as
from config.whole_files import delete_after_commit
from fleet.actions.odometer import lock_every_car
from fleet.models import (
    CalendarFeed,
    Completion,
    Defect,
    DefectStep,
    DueItem,
    Notice,
    OdometerReading,
    Photo,
    ReminderMail,
)
from fleet.queries import still_kept
from instructors.models import Member


def keep_miles(*, by: Member, readings: Iterable[tuple[int, date, int]]) -> None:
    """Keep these miles, by car and day, as readings of days that have none; those of a day are its last.

    Call it in a transaction, before whatever showed them is deleted: nothing else writes to an odometer until it ends.
    """
    lock_every_car()
    shown: dict[tuple[int, date], int] = {}
    for car_id, day, miles in readings:
        shown[car_id, day] = max(miles, shown.get((car_id, day), 0))
    there = set(OdometerReading.objects.filter(car__in={car_id for car_id, _ in shown}).values_list("car", "read_on"))
    new = [
        OdometerReading(car_id=car_id, read_on=day, miles=miles)
        for (car_id, day), miles in sorted(shown.items())
        if (car_id, day) not in there
    ]
    add_all_as(by, new, reason="Kept without the fill")


@transaction.atomic
def erase_of_cars(member: Member, words: Sequence[str]) -> int:
    """Delete what is the member's own, and take their ``words`` out of what stays; return how many rows went.

    Raises ValidationError if they still keep a car.
    """
    _refuse_keeper(member)
    own = (
        Notice.objects.filter(Q(recipient=member) | Q(member=member)),
        ReminderMail.objects.filter(recipient=member),
        CalendarFeed.objects.filter(member=member),
    )
    count = sum(rows.delete()[0] for rows in own) + _erase_credentials(member) + _erase_papers(member)
    for completions in (Completion.objects, Completion.history):
        completions.filter(recorded_by_id=member.pk).update(cost_ref="")
    DefectStep.objects.filter(by=member).update(cost_ref="")
    take_out(words, apps.get_app_config("fleet").get_models())
    return count


def _refuse_keeper(member: Member) -> None:
    if kept := still_kept(member):
        raise ValidationError(
            f"{', '.join(kept)} is still kept by {member.name}. A coordinator first records who takes it on."
        )


def _erase_credentials(member: Member) -> int:
    """Delete their registration, licence and whatever else fell due for them, and how it was met."""
    ids = list(DueItem.history.filter(member_id=member.pk).values_list("id", flat=True))
    items = DueItem.objects.filter(member=member)
    Completion.objects.filter(due_item__in=items).delete()
    Completion.history.filter(due_item_id__in=[*ids, *items.values_list("pk", flat=True)]).delete()
    count, _ = items.delete()
    DueItem.history.filter(member_id=member.pk).delete()
    return count


def _erase_papers(member: Member) -> int:
    """Delete the photos that they took of papers, which only they could see; those of defects stay with the defect."""
    photos = list(Photo.objects.filter(taken_by=member, is_of_defect=False))
    ids = [photo.pk for photo in photos]
    for rows in (Completion.objects, Completion.history, Defect.objects, Defect.history, DefectStep.objects):
        rows.filter(photo_id__in=ids).update(photo_id=None)
    for photo in photos:
        delete_after_commit(photo.image)
        photo.delete()
    return len(photos)
