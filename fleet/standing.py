"""What must be said on every page before a lesson: which of the member's cars are off the road."""

from collections.abc import Callable
from typing import Any, NamedTuple

from django.http import HttpRequest
from django.utils import timezone

from fleet.models import Car
from fleet.queries import cars_of, due_report
from fleet.wording import reason_words
from instructors.models import Member


class StoppedCar(NamedTuple):
    """A car in which no lesson may be given now, and why."""

    car: Car
    reasons: list[str]


def stopped_cars(request: HttpRequest) -> dict[str, Callable[[], list[StoppedCar]]]:
    """For every template: the cars of whoever is signed in that are off the road, asked for only where shown."""
    return {"stopped_cars": lambda: _stopped_cars_of(request.user) if request.user.is_authenticated else []}


def _stopped_cars_of(member: Member | Any) -> list[StoppedCar]:
    today = timezone.localdate()
    report = due_report(today, cars=cars_of(member, today))
    return [StoppedCar(due.car, list(map(reason_words, due.reasons))) for due in report.cars if due.off_the_road]
