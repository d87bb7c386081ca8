"""The walkaround checks: the points to look at, and the checks that were made."""

from collections.abc import Collection
from datetime import date

from django.db.models import Max, Prefetch, Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from fleet.core.defects import Severity
from fleet.core.points import GROUPS, NextCheck, Point, next_check_due, points_for
from fleet.models import Car, CheckPoint, Defect, WalkaroundCheck
from instructors.models import Member

#: The source of a point that the co-op has added.
OWN_SOURCE = "added by the co-op"


def points_in_use(car: Car, on: date) -> list[Point]:
    """The points that a check asks of the car on that day, by group: those of the book's list, then the co-op's."""
    own = [
        Point(point.name, point.group, point.words, point.look_for, OWN_SOURCE)
        for point in CheckPoint.objects.filter(Q(retired_on__isnull=True) | Q(retired_on__gt=on)).order_by("pk")
    ]
    return [point for group in GROUPS for point in [*points_for(car.build), *own] if point.group == group]


def own_points() -> list[CheckPoint]:
    """The points that the co-op has added, the retired ones last."""
    return sorted(CheckPoint.objects.order_by("pk"), key=lambda point: point.retired_on is not None)


def check_point_for(member: Member, pk: int) -> CheckPoint:
    """A point of the co-op's own that ``member`` may change; Http404 for all but coordinators."""
    if not member.is_coordinator:
        raise Http404
    return get_object_or_404(CheckPoint, pk=pk)


def last_checks_of(car_ids: Collection[int]) -> dict[int, date]:
    """The day of each car's last check that was not broken off; a car without one is absent."""
    whole = WalkaroundCheck.objects.filter(car_id__in=car_ids, is_whole=True, voided_at__isnull=True)
    rows = whole.order_by().values_list("car_id")
    return dict(rows.annotate(last_on=Max("checked_on")))


def next_check_of(car: Car, on: date) -> NextCheck:
    """When the car was last checked, and when the next check is due."""
    return next_check_due(last_checks_of([car.pk]).get(car.pk), on)


def checks_of(car: Car) -> QuerySet[WalkaroundCheck]:
    """The checks of a car, newest first, voided ones too, each with its member and, as ``found``, its defects."""
    found = Prefetch("defects", Defect.objects.order_by("pk"), to_attr="found")
    return WalkaroundCheck.objects.filter(car=car).select_related("member").prefetch_related(found)


def defects_found_by(check: WalkaroundCheck) -> list[Defect]:
    """The defects that the check raised, in the order of the walk."""
    return list(check.defects.order_by("pk"))


def check_sent(member: Member, ref: str) -> WalkaroundCheck | None:
    """The member's own check with that reference, once one of its groups is in the book."""
    return WalkaroundCheck.objects.filter(member=member, ref=ref).first()


def check_to_go_on(member: Member, car: Car, on: date) -> WalkaroundCheck | None:
    """The check of the car that the member broke off on that day and may go on with.

    After a fault that takes the car off the road there is none: what was looked at before it was put right counts
    no more.
    """
    standing = WalkaroundCheck.objects.filter(member=member, car=car, voided_at__isnull=True)
    broken_off = standing.filter(checked_on=on, is_whole=False)
    grave = [severity.value for severity in Severity if severity.stops_car]
    return broken_off.exclude(defects__severity__in=grave).order_by("-pk").first()
