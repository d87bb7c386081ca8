"""The tyres of a car: how they wear, and recording tread, new tyres and rotations."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day
from fleet import actions, queries
from fleet.charts import tread_now
from fleet.forms import NewTyresForm, RotationForm, TreadForm
from fleet.views.tyre_words import move_words, tyre_words, wheel_words
from instructors.access import MemberRequest


@require_safe
def tread(request: MemberRequest, mark: str) -> HttpResponse:
    """The tyre at each wheel: its tread now, how it wears, and when it reaches each limit."""
    car = queries.car_for(request.user, mark)
    report = queries.tread_report(car, timezone.localdate())
    context = {
        "car": car,
        "tyres": [tyre_words(wear) for wear in report.wheels],
        "now": tread_now([(wheel_words(wear.wheel), wear) for wear in report.wheels]),
        "moves": [(move.moved_on, move_words(move)) for move in report.moves],
    }
    return render(request, "fleet/tread.html", context)


@read_or_write
def tread_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Record the tread of some or all wheels."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = TreadForm(posted(request), car=car, today=today)
    form.put_odometer(request.user, car, today)

    def save() -> HttpResponse:
        actions.record_tread(by=request.user, car=car, **form.cleaned_data)
        which = ", ".join(wheel_words(wheel).lower() for wheel in form.cleaned_data["wheels"])
        words = f"Tread on {day(form.cleaned_data['read_on'])} is in the book: {which}."
        return go_on(request, words, "fleet:tread", car.registration)

    return form_page(request, "fleet/tread_add.html", form, save, {"car": car})


@read_or_write
def tyres_replaced(request: MemberRequest, mark: str) -> HttpResponse:
    """Record that new tyres were fitted."""
    car = queries.car_for(request.user, mark)
    form = NewTyresForm(posted(request), today=timezone.localdate())

    def save() -> HttpResponse:
        actions.replace_tyres(by=request.user, car=car, **form.cleaned_data)
        words = f"New tyres on {day(form.cleaned_data['moved_on'])} are in the book. Read their tread when you can."
        return go_on(request, words, "fleet:tread", car.registration)

    return form_page(request, "fleet/tyres_replaced.html", form, save, {"car": car})


@read_or_write
def tyres_rotated(request: MemberRequest, mark: str) -> HttpResponse:
    """Record which tyre went where."""
    car = queries.car_for(request.user, mark)
    form = RotationForm(posted(request), today=timezone.localdate())

    def save() -> HttpResponse:
        actions.rotate_tyres(by=request.user, car=car, **form.cleaned_data)
        words = f"The tyre moves of {day(form.cleaned_data['moved_on'])} are in the book."
        return go_on(request, words, "fleet:tread", car.registration)

    return form_page(request, "fleet/tyres_rotated.html", form, save, {"car": car})
