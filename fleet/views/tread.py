"""The tyres of a car: how they wear, and writing down tread, new tyres and rotations."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.http import read_or_write
from config.showing import day, whole
from fleet import actions, queries
from fleet.forms import NewTyresForm, RotationForm, TreadForm
from fleet.models import Car
from fleet.views import MemberRequest
from fleet.views.answers import put_refusal
from fleet.views.tyre_words import move_words, tyre_words, wheel_words


@require_safe
def tread(request: MemberRequest, mark: str) -> HttpResponse:
    """The tyre at each wheel: its tread now, how it wears, and when it comes to each limit."""
    car = queries.car_for(request.user, mark)
    report = queries.tread_report(car, timezone.localdate())
    context = {
        "car": car,
        "tyres": [tyre_words(wear) for wear in report.wheels],
        "is_read": report.worst is not None,
        "moves": [(move.moved_on, move_words(move)) for move in report.moves],
    }
    return render(request, "fleet/tread.html", context)


@read_or_write
def tread_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Write down the tread of some or all wheels."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = TreadForm(_sent(request), today=today)
    if reading := queries.last_reading_of(car, today):
        last = f"Last: {whole(reading.miles)} miles on {day(reading.read_on)}."
        form.fields["odometer"].help_text = f"{last} {form.fields['odometer'].help_text}"
    if form.is_bound and form.is_valid() and _is_allowed(form, actions.record_tread, by=request.user, car=car):
        which = ", ".join(wheel_words(wheel).lower() for wheel in form.cleaned_data["wheels"])
        return _done(request, car, f"Tread on {day(form.cleaned_data['read_on'])} is in the book: {which}.")
    return render(request, "fleet/tread_add.html", {"form": form, "car": car})


@read_or_write
def tyres_replaced(request: MemberRequest, mark: str) -> HttpResponse:
    """Write down that new tyres were fitted."""
    car = queries.car_for(request.user, mark)
    form = NewTyresForm(_sent(request), today=timezone.localdate())
    if form.is_bound and form.is_valid() and _is_allowed(form, actions.replace_tyres, by=request.user, car=car):
        words = f"New tyres on {day(form.cleaned_data['moved_on'])} are in the book. Read their tread when you can."
        return _done(request, car, words)
    return render(request, "fleet/tyres_replaced.html", {"form": form, "car": car})


@read_or_write
def tyres_rotated(request: MemberRequest, mark: str) -> HttpResponse:
    """Write down which tyre went where."""
    car = queries.car_for(request.user, mark)
    form = RotationForm(_sent(request), today=timezone.localdate())
    if form.is_bound and form.is_valid() and _is_allowed(form, actions.rotate_tyres, by=request.user, car=car):
        return _done(request, car, f"What went where on {day(form.cleaned_data['moved_on'])} is in the book.")
    return render(request, "fleet/tyres_rotated.html", {"form": form, "car": car})


def _sent(request: MemberRequest) -> Any:
    return request.POST if request.method == "POST" else None


def _is_allowed(form: forms.Form, write: Callable[..., Any], **given: Any) -> bool:
    """Whether the book takes what the form says; if not, the form shows why."""
    try:
        write(**given, **form.cleaned_data)
    except ValidationError as refusal:
        put_refusal(form, refusal)
        return False
    return True


def _done(request: MemberRequest, car: Car, words: str) -> HttpResponse:
    messages.success(request, words)
    return redirect("fleet:tread", car.registration)
