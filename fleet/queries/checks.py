"""The walkaround checks: the points to look at, and the checks that were made."""

from collections.abc import Collection
from datetime import date

from django.db.models import Max, Prefetch, Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from fleet.core.points import GROUPS, POINTS, NextCheck, Point, next_check_due
from fleet.models import Car, CheckPoint, Defect, WalkaroundCheck
from instructors.models import Member

#: The source of a point that the co-op has added.
OWN_SOURCE = "added by the co-op"


def points_in_use(on: date) -> list[Point]:
    """The points of a check on that day, by group: the book's own list, then the co-op's."""
    own = [
        Point(point.name, point.group, point.words, point.look_for, OWN_SOURCE)
        for point in CheckPoint.objects.filter(Q(retired_on__isnull=True) | Q(retired_on__gt=on)).order_by("pk")
    ]
    return [point for group in GROUPS for point in [*POINTS.values(), *own] if point.group == group]


def own_points() -> list[CheckPoint]:
    """The points that the co-op has added, the retired ones last."""
    return sorted(CheckPoint.objects.order_by("pk"), key=lambda point: point.retired_on is not None)


def check_point_for(member: Member, pk: int) -> CheckPoint:
    """A point of the co-op's own that ``member`` may change; Http404 for all but coordinators."""
    if not member.is_coordinator:
        raise Http404
    return get_object_or_404(CheckPoint, pk=pk)


def last_checks_of(car_ids: Collection[int]) -> dict[int, date]:
    """The day of each car's last check; a car without one is absent."""
    rows = WalkaroundCheck.objects.filter(car_id__in=car_ids, voided_at__isnull=True).order_by().values_list("car_id")
    return dict(rows.annotate(last_on=Max("checked_on")))


def next_check_of(car: Car, on: date) -> NextCheck:
    """When the car was last checked, and when the next check is due."""
    return next_check_due(last_checks_of([car.pk]).get(car.pk), on)


def checks_of(car: Car) -> QuerySet[WalkaroundCheck]:
    """The checks of a car, newest first, voided ones too, each with its member and, as ``found``, its defects."""
    found = Prefetch("defects", Defect.objects.order_by("pk"), to_attr="found")
    return WalkaroundCheck.objects.filter(car=car).select_related("member").prefetch_related(found)
