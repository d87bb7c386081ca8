"""The cars somebody may see, and one car with all that falls due on it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.core.due import State
from fleet.models import Car
from fleet.queries import CarDue, MemberDue
from fleet.views import MemberRequest
from fleet.views.wording import DueWords, words_of, worst_first
from fleet.wording import reason_words
from instructors.queries import active_members

#: What is worth a coordinator's look today.
_PRESSING = frozenset({State.OVERDUE, State.UNKNOWN, State.DUE})


@dataclass(frozen=True, slots=True)
class CarRow:
    """One car on the list: why it is off the road or else its most pressing item, and how many more press."""

    car: Car
    reasons: list[str]
    first: DueWords
    more_count: int
    is_pressing: bool


@require_safe
def car_list(request: MemberRequest) -> HttpResponse:
    """Every car for a coordinator, the own ones for a member; the worst first."""
    today = timezone.localdate()
    cars = list(queries.cars_visible_to(request.user))
    people = active_members(today) if request.user.is_coordinator else ()
    report = queries.due_report(today, cars=cars, members=people)
    rows = [_row(car_due) for car_due in worst_first(report.cars)]
    context = {
        "rows": rows,
        "off_count": sum(bool(row.reasons) for row in rows),
        "pressing_count": sum(row.is_pressing and not row.reasons for row in rows),
        "credentials": _pressing_credentials(report.members),
        "former_cars": _out_of_service(cars, today),
        "shows_former": "out-of-service" in request.GET,
    }
    return render(request, "fleet/car_list.html", context)


def _row(car_due: CarDue) -> CarRow:
    reasons = [reason_words(reason) for reason in car_due.reasons]
    pressing_count = sum(line.status.state in _PRESSING for line in car_due.items)
    told_count = len(reasons) or 1
    first = words_of(car_due.items[0])
    return CarRow(car_due.car, reasons, first, max(0, pressing_count - told_count), pressing_count > 0)


def _pressing_credentials(members: Iterable[MemberDue]) -> list[tuple[str, DueWords]]:
    """What is overdue, due or unknown among the members' credentials, with the member's name."""
    lines = [line for member in members for line in member.items if line.status.state in _PRESSING]
    lines.sort(key=lambda line: line.status.days_left if line.status.days_left is not None else 0)
    return [(line.subject.member.name, words_of(line)) for line in lines]


def _out_of_service(cars: Iterable[Car], today: date) -> list[Car]:
    former = [car for car in cars if car.in_service_to and car.in_service_to < today]
    return sorted(former, key=lambda car: car.in_service_to or today, reverse=True)


@require_safe
def car(request: MemberRequest, mark: str) -> HttpResponse:
    """One car: whether it may be used for lessons, what falls due on it and when, and what was done."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    report = queries.due_report(today, cars=[car])
    car_due = report.cars[0] if report.cars else None
    lines = [words_of(line) for line in car_due.items] if car_due else []
    context = {
        "car": car,
        "items": lines,
        "in_service": car_due is not None,
        "reasons": [reason_words(reason) for reason in car_due.reasons] if car_due else [],
        "unknown": [line.title for line in lines if line.is_unknown],
        "reading": queries.last_reading_of(car, today),
        "completions": queries.completions_of(car),
        "is_keeper": car.keeper == request.user,
    }
    return render(request, "fleet/car.html", context)
