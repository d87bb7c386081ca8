"""Logging a week of lessons at once, a record a day."""

from collections.abc import Sequence
from datetime import date
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from config.showing import span_of
from costing.actions.entries import OUT_OF_DATE, end_entry, log_teaching
from costing.core.shares import share
from costing.core.week import DayShare
from costing.models import Batch, BatchKind, TeachingRecord
from fleet.actions import lock_car
from fleet.models import Car
from instructors.models import Member


def log_week(
    *, by: Member, car: Car, ref: str, days: Sequence[DayShare], replaces: bool = False, found_right: str = ""
) -> tuple[Batch, bool]:
    """Log a record of each of these days, as one batch whose id is ``ref``. Returns it, and whether it is new.

    A ``ref`` that was logged before returns that batch. With ``replaces``, ``by``'s own records of the car on these
    days are voided; raises ValidationError if one has other days too. Their minutes and private miles stay with their
    days if no others are told. Without, they stay beside the new ones.
    """
    try:
        with transaction.atomic():
            car = lock_car(car)
            batch = Batch.objects.create(id=UUID(ref), member=by, kind=BatchKind.WEEK)
            kept = _replace(by, car, {one.day for one in days}, batch) if replaces else {}
            is_told = any(one.private_miles is not None for one in days)
            for one in days:
                log_teaching(
                    by=by,
                    car=car,
                    ref=str(uuid5(batch.pk, one.day.isoformat())),
                    from_on=one.day,
                    to_on=one.day,
                    lesson_count=one.lessons,
                    minutes=kept[one.day][0] if one.minutes is None and one.day in kept else one.minutes,
                    private_miles=one.private_miles if is_told or one.day not in kept else kept[one.day][1],
                    batch=batch,
                    found_right=found_right,
                )
    except IntegrityError:
        # The unique key tells what is sent again.
        if first := _logged_before(by, ref):
            return first, False
        raise
    return batch, True


def _logged_before(by: Member, ref: str) -> Batch | None:
    first = Batch.objects.filter(pk=ref).first()
    if first and (first.member_id != by.pk or first.kind != BatchKind.WEEK):
        raise ValidationError(OUT_OF_DATE, code="ref_of_another")
    return first


def _replace(by: Member, car: Car, days: set[date], batch: Batch) -> dict[date, tuple[int | None, int | None]]:
    """Void what is in the book on these days, unless it reaches beyond them.

    Returns its minutes and private miles by day; None is not known.
    """
    kept: dict[date, tuple[int | None, int | None]] = {}
    own = TeachingRecord.objects.standing().filter(member=by, car=car, from_on__lte=max(days), to_on__gte=min(days))
    for record in own.select_related("car").order_by("pk"):
        its = [date.fromordinal(day) for day in range(record.from_on.toordinal(), record.to_on.toordinal() + 1)]
        if days.isdisjoint(its):
            continue
        if not days.issuperset(its):
            span = span_of(record.from_on, record.to_on)
            words = f"The lessons of {span} are one record, with days that are not filled in here: correct that one."
            raise ValidationError({"how": words}, code="reaches_beyond")
        end_entry(by=by, entry=record, reason="Replaced", replaced_by=batch)
        for number, day in enumerate(its):
            minutes, private = kept.get(day, (0, 0))
            kept[day] = (
                _with_part(minutes, record.minutes, number, len(its)),
                _with_part(private, record.private_miles, number, len(its)),
            )
    return kept


def _with_part(before: int | None, whole: int | None, number: int, days: int) -> int | None:
    """A figure of a day and what falls on it of one of several days; None if either is not known."""
    if before is None or whole is None:
        return None
    return before + share(whole, number + 1, days) - share(whole, number, days)
