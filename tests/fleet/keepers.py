"""What the tests of handing on and putting right share."""

from datetime import UTC, date, datetime
from typing import Any

import time_machine
from django.utils import timezone

from fleet.actions import hand_over
from fleet.models import Car
from fleet.queries import last_reading_of
from instructors.models import Act, ActMail, Member


def hand_on(car: Car, to: Member, on: date, by: Member) -> None:
    """The car handed on, as of noon of a day; of that nobody has a mail any more."""
    with time_machine.travel(datetime(on.year, on.month, on.day, 12, tzinfo=UTC), tick=False):
        pass_on(car, to, by)
    forget_acts()
    car.refresh_from_db()


def pass_on(car: Car, to: Member, by: Member) -> Car:
    """The car handed over today, with what its odometer showed last."""
    today = timezone.localdate()
    reading = last_reading_of(car, today)
    return hand_over(by=by, car=car, keeper=to, on=today, odometer=reading.miles if reading else 21_400)


def forget_acts() -> None:
    """Take every act away, so that what follows stands alone."""
    Act.objects.all().delete()
    ActMail.objects.all().delete()


def acts(**of: Any) -> list[tuple[str, str, str, str, bool]]:
    """Whom each act concerns, its field, what it was and is now, and whether it is mailed; oldest first."""
    found = Act.objects.filter(**of).select_related("concerns").order_by("pk")
    return [(act.concerns.name, act.field, act.was, act.now, act.mail_id is not None) for act in found]
