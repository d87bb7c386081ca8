"""A member's own takings by the week: found, recorded, corrected and voided."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.shortcuts import get_object_or_404
from django.utils import timezone

from config.history import lock, put, save_as
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.records import Period
from costing.core.shares import ByDays
from costing.core.week import DAYS
from costing.models import Takings, TeachingRecord
from costing.planning.core.left import mondays_of, sunday_of
from instructors.models import Member


def takings_for(member: Member, pk: int) -> Takings:
    """Return one of the member's own weeks, voided or not. Raises Http404 for anybody else's."""
    return get_object_or_404(Takings, member=member, pk=pk)


def takings_of(member: Member, monday: date) -> Takings | None:
    """Return the member's standing takings of the week of ``monday``; None if it is not told."""
    return Takings.objects.standing().filter(member=member, from_on=monday).first()


def takings_since(member: Member, first: date) -> list[Takings]:
    """Return the member's standing weeks from that of ``first`` on, newest first."""
    since = first - timedelta(days=DAYS - 1)
    return list(Takings.objects.standing().filter(member=member, from_on__gte=since).order_by("-from_on"))


def taken_by_week(member: Member, first: date) -> dict[date, int]:
    """Return the pence taken in each week that is told, from that of ``first`` on, by its Monday; one query."""
    return {week.from_on: to_pence(week.amount) for week in takings_since(member, first)}


def minutes_by_week(member: Member, period: Period) -> dict[date, int]:
    """Return the minutes taught in each week of a period, in whichever car, by its Monday; without those of none.

    A record of several weeks is shared over its days; hours that are not told count as none.
    """
    records = TeachingRecord.objects.standing().filter(
        member=member, from_on__lte=period.last, to_on__gte=period.first, minutes__gt=0
    )
    told = records.order_by().values_list("from_on", "to_on", "minutes")
    totals = [ByDays(first, last, minutes or 0) for first, last, minutes in told]
    taught = {
        monday: sum(total.by(sunday_of(monday)) - total.by(monday - ONE_DAY) for total in totals)
        for monday in mondays_of(period)
    }
    return {monday: minutes for monday, minutes in taught.items() if minutes}


@transaction.atomic
def record_takings(*, by: Member, ref: str, from_on: date, **fields: Any) -> tuple[Takings, bool]:
    """Record what ``by`` took in the week that begins on the Monday ``from_on``; ``fields`` are those of `Takings`.

    Returns it and whether it is new: a ``ref`` recorded before returns that one. Raises ValidationError if the week is
    in the book already, or if the reference is somebody else's.
    """
    # A second tap waits here for the first one, and then finds what it made.
    lock(by)
    if first := Takings.objects.filter(ref=ref).first():
        if first.member_id != by.pk:
            raise ValidationError("This page is out of date: reload it and enter that again.", code="ref_of_another")
        return first, False
    if takings_of(by, from_on):
        raise ValidationError("The takings of this week are in the book already: correct them below.", code="week_told")
    takings = Takings(member=by, ref=ref, from_on=from_on, to_on=sunday_of(from_on), **fields)
    save_as(by, takings, reason="Recorded")
    return takings, True


@transaction.atomic
def correct_takings(*, by: Member, takings: Takings, changes: Mapping[str, Any]) -> Takings:
    """Change fields of one of ``by``'s own weeks; its history keeps what they were.

    Raises ValidationError if the week is voided.
    """
    current = _locked(takings, by)
    if current.voided_at is not None:
        raise ValidationError("This week was voided: enter it again if it was right after all.", code="voided")
    if changed := put(current, changes):
        save_as(by, current, *changed, reason="Corrected")
    return current


@transaction.atomic
def void_takings(*, by: Member, takings: Takings, reason: str) -> Takings:
    """Void one of ``by``'s own weeks, so that it no longer counts. Voiding it again changes nothing."""
    current = _locked(takings, by)
    if current.voided_at is None:
        current.voided_at = timezone.now()
        save_as(by, current, "voided_at", reason=f"Voided: {reason}")
    return current


def _locked(takings: Takings, by: Member) -> Takings:
    current = lock(takings)
    if current.member_id != by.pk:
        raise PermissionError("only whoever recorded takings may change them")
    return current
