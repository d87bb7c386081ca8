"""One car with all that falls due on it."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.core.defects import CONSEQUENCES, Severity
from fleet.core.due import State
from fleet.queries import CarDue, DueLine
from fleet.views.tyre_words import tyre_words
from fleet.views.wording import done_rows, words_of
from fleet.wording import looked_round, reason_words, tuition_words
from instructors.access import MemberRequest


@require_safe
def car(request: MemberRequest, mark: str) -> HttpResponse:
    """One car: whether it may be used for lessons, what falls due on it and when, and what was done."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    report = queries.due_report(today, cars=[car])
    car_due = report.cars[0] if report.cars else None
    defects, tuition = queries.defects_of(car), queries.tuition_cover_of(car)
    lines = [words_of(line) for line in car_due.items] if car_due else []
    context = {
        "car": car,
        "items": lines,
        "in_service": car_due is not None,
        "reasons": [reason_words(reason) for reason in car_due.reasons] if car_due else [],
        "to_do": CONSEQUENCES[Severity.DANGEROUS].to_do if _is_dangerous(car_due) else "",
        "unknown": [line.title for line in car_due.items if _is_in_doubt(line)] if car_due else [],
        "reading": queries.last_reading_of(car, today),
        "worst_tyre": tyre_words(worst) if (worst := queries.tread_report(car, today).worst) else None,
        "completions": done_rows(queries.completions_of(car), request.user),
        "tuition": tuition_words(tuition.is_met, tuition.confirmed_on) if tuition else tuition_words(None),
        "last_look": looked_round(queries.next_check_of(car, today)),
        "open_defects": [defect for defect in defects if defect.closed_on is None],
        "closed_defects": [defect for defect in defects if defect.closed_on is not None],
        "is_keeper": car.keeper == request.user,
    }
    return render(request, "fleet/car.html", context)


def _is_in_doubt(line: DueLine) -> bool:
    """Whether nobody knows if the car may be on the road for this."""
    return line.kind.stops_car and line.status.state is State.UNKNOWN


def _is_dangerous(due: CarDue | None) -> bool:
    return due is not None and any(reason.name == Severity.DANGEROUS for reason in due.reasons)
