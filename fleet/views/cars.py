"""One car with all that falls due on it; entering a car, and correcting what was entered."""

from datetime import date
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import queries
from fleet.actions import add_car, change_service, correct_car
from fleet.core.due import State
from fleet.core.law import left_by_law
from fleet.core.odometer import Odometer, Reading
from fleet.core.registration import show
from fleet.forms import CarCorrectForm, CarForm, ServiceForm
from fleet.models import Car
from fleet.queries import CarDue, DueReport
from fleet.views.car_words import road_of, sentences_of, ways_back_of, whys_of
from fleet.views.check_words import last_check_words
from fleet.views.tyre_words import tyre_words
from fleet.views.wording import done_rows, words_of
from fleet.wording import stale_words, teacher_words, tuition_words
from instructors.access import MemberRequest
from instructors.models import Member
from instructors.queries import active_members

#: Of the verdict. What falls due is listed below it.
_SENTENCES = 3


@require_safe
def car(request: MemberRequest, mark: str) -> HttpResponse:
    """One car: whether it may be used for lessons, what falls due on it and when, and what was done."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    report = queries.due_report(today, cars=[car], members=[car.keeper], with_treads=True)
    car_due = report.cars[0] if report.cars else None
    reading = queries.last_reading_of(car, today)
    times = queries.keeperships_of(car)
    defects, tuition = queries.defects_of(car), queries.tuition_cover_of(car, today)
    context = {
        "car": car,
        "in_service": car_due is not None,
        **(_how_it_stands(car_due, today) if car_due else {}),
        "reading": reading,
        "to_read": _to_read(car_due, reading, today) if car_due else [],
        "worst_tyre": tyre_words(worst) if (worst := queries.tread_report(car, today).worst) else None,
        "completions": done_rows(queries.completions_of(car), request.user),
        "tuition": tuition_words(tuition.is_met, tuition.confirmed_on) if tuition else tuition_words(None),
        "last_look": last_check_words(queries.next_check_of(car, today)),
        "open_defects": [defect for defect in defects if defect.closed_on is None],
        "closed_defects": [defect for defect in defects if defect.closed_on is not None],
        "is_keeper": car.keeper == request.user,
        "teacher": _teacher(report) if car_due else "",
        "kept_since": times[-1].first if len(times) > 1 and times[-1].last is None else None,
        "kept_until": times[-1].last,
    }
    return render(request, "fleet/car.html", context)


def _teacher(report: DueReport) -> str:
    """The verdict on the car's keeper as a teacher; empty if nothing is recorded against them."""
    return "".join(teacher_words(one.verdict, report.on) for one in report.members)


def _how_it_stands(due: CarDue, today: date) -> dict[str, Any]:
    """What is said of a car in service today, and what falls due on it."""
    return {
        "items": [words_of(line) for line in due.items],
        "verdict": sentences_of(due, today)[:_SENTENCES],
        "road": road_of(due, today),
        "is_in_doubt": any(line.kind.stops_car and line.status.state is State.UNKNOWN for line in due.items),
        "whys": whys_of(due),
        "ways": ways_back_of(due),
        "laws": left_by_law(due.reasons),
    }


def _to_read(due: CarDue, reading: Reading | None, today: date) -> list[tuple[str, str, str]]:
    """What was last read too long ago: what it is, that in words, and the page on which it is read."""
    [stale] = queries.stale_readings_of([(due, Odometer([reading] if reading else []))], today).values()
    return [
        (each.gauge, stale_words(each), reverse(f"fleet:{each.gauge}-add", args=[due.registration])) for each in stale
    ]


@read_or_write
def car_add(request: MemberRequest) -> HttpResponse:
    """Enter one's own car; coordinators choose its keeper."""
    today = timezone.localdate()
    keepers = active_members(today) if request.user.is_coordinator else []
    form = CarForm(posted(request), today=today, keepers=keepers)

    def save() -> HttpResponse:
        car = add_car(by=request.user, **({"keeper": request.user} | form.cleaned_data))
        words = f"{show(car.registration)} is in the book. Next: what falls due on it."
        return go_on(request, words, "fleet:car", car.registration)

    return form_page(request, "fleet/car_add.html", form, save)


@read_or_write
def car_correct(request: MemberRequest, mark: str) -> HttpResponse:
    """Correct a car's mark and details: for its keeper and coordinators."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = CarCorrectForm(posted(request), car=car, today=today, members=_registered_keepers(request.user, car, today))

    def save() -> HttpResponse:
        corrected = correct_car(by=request.user, car=car, **form.cleaned_data)
        return go_on(request, f"Saved: {show(corrected.registration)}.", "fleet:car", corrected.registration)

    return form_page(request, "fleet/car_correct.html", form, save, {"car": car, "told": _others(request, car)})


@read_or_write
def car_service(request: MemberRequest, mark: str) -> HttpResponse:
    """Correct the days on which a car is in service: for its keeper and coordinators."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = ServiceForm(posted(request), car=car, today=today)
    form.put_odometer(request.user, car, today)

    def save() -> HttpResponse:
        change_service(by=request.user, car=car, **form.cleaned_data)
        words = f"The days in service of {show(car.registration)} are saved."
        return go_on(request, words, "fleet:car", car.registration)

    return form_page(request, "fleet/car_service.html", form, save, {"car": car, "told": _others(request, car)})


def _registered_keepers(member: Member, car: Car, today: date) -> dict[Member, str]:
    """Who may be entered as registered keeper, with the names to choose by: a member sees no other's name."""
    if member.is_coordinator:
        members = {one: one.name for one in active_members(today)}
        return members | ({car.registered_keeper: car.registered_keeper.name} if car.registered_keeper else {})
    another = {car.registered_keeper: "Another member, as before"} if car.registered_keeper else {}
    return another | {member: "You"}


def _others(request: MemberRequest, car: Car) -> list[Member]:
    """Who is told of a change to the car: its present and former keepers, except whoever makes it."""
    return [member for member in queries.keepers_since(car) if member != request.user]
