"""Recording with one tap that no lessons were given this week."""

from datetime import date

from django.core.exceptions import ValidationError

from costing.actions.entries import log_teaching
from costing.models import TeachingRecord
from costing.queries.teaching import car_taught_in, week_without_lessons
from instructors.models import Member


def log_no_lessons(*, by: Member, ref: str, on: date) -> tuple[TeachingRecord, bool]:
    """Log no lessons and no private miles from Monday to ``on``, or since the last record of this week.

    Returns the record and whether it is new; a ``ref`` that was logged before returns that record. Raises
    ValidationError if lessons are logged up to ``on``, or if the member has no car in service.
    """
    if first := TeachingRecord.objects.filter(ref=ref, member=by).first():
        return first, False
    car, days = car_taught_in(by, on), week_without_lessons(by.pk, on)
    if car is None:
        raise ValidationError("You have no car in service now, so there is nothing to log.", code="no_car")
    if days is None:
        raise ValidationError("Lessons are logged up to today already.", code="logged")
    return log_teaching(
        by=by,
        car=car,
        ref=ref,
        from_on=max(days.first, car.in_service_from),
        to_on=days.last,
        lesson_count=0,
        minutes=0,
        private_miles=0,
    )
