"""What falls due on the signed-in member's own cars, worked out once a request: every page says if one is stopped."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import NamedTuple, cast

from django.http import HttpRequest
from django.utils import timezone

from fleet.core.odometer import Odometer
from fleet.models import Car
from fleet.queries import DueReport, cars_of, due_report
from fleet.wording import reasons_in_short
from instructors.models import Member

#: The key under which a request keeps its report.
_KEPT = "book.own_report"


class StoppedCar(NamedTuple):
    """A car in which no lesson may be given now, and why, gravest first."""

    car: Car
    reasons: list[str]


def own_report(request: HttpRequest) -> DueReport:
    """What falls due today on the cars that the member signed in keeps, and of their credentials.

    It is kept with the request: ask for it only after the request has made its changes.
    """
    kept = request.META.get(_KEPT)
    if kept is None:
        member, today = cast(Member, request.user), timezone.localdate()
        kept = request.META[_KEPT] = due_report(today, cars=cars_of(member, today), members=[member])
    return cast(DueReport, kept)


def visible_report(
    request: HttpRequest, cars: Collection[Car], nation: str, odometers: Mapping[int, Odometer]
) -> DueReport:
    """What falls due today on all ``cars`` that the member signed in may see, and of their credentials.

    ``odometers`` are those known already, by car id, 180 days back at least.

    The part of it that is the member's own is kept as their own report, so that nothing is asked twice.
    """
    member, today = cast(Member, request.user), timezone.localdate()
    report = due_report(today, cars=cars, members=[member], nation=nation, odometers=odometers, with_treads=True)
    own = tuple(due for due in report.cars if due.car.keeper_id == member.pk)
    request.META[_KEPT] = replace(report, cars=own)
    return report


def stopped_cars(request: HttpRequest) -> dict[str, Callable[[], list[StoppedCar]]]:
    """Context for every template: the signed-in member's cars that are off the road, worked out only if shown."""
    return {"stopped_cars": lambda: _stopped_cars(own_report(request)) if request.user.is_authenticated else []}


def _stopped_cars(report: DueReport) -> list[StoppedCar]:
    return [StoppedCar(due.car, reasons_in_short(due.reasons)) for due in report.cars if due.off_the_road]
