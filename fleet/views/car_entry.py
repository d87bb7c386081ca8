"""Entering a car, saying who keeps one, and putting right what was entered of it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from config.http import read_or_write
from fleet import queries
from fleet.actions import add_car, change_service, correct_car, hand_on_car
from fleet.core.registration import show
from fleet.forms import CarCorrectForm, CarForm, HandOnForm, ServiceForm
from fleet.models import Car
from fleet.views import MemberRequest
from fleet.views.answers import put_refusal
from instructors.models import Member
from instructors.queries import active_members


@read_or_write
def car_add(request: MemberRequest) -> HttpResponse:
    """Enter a car one keeps; coordinators say who does."""
    today = timezone.localdate()
    keepers = active_members(today) if request.user.is_coordinator else []
    form = CarForm(request.POST if request.method == "POST" else None, today=today, keepers=keepers)
    if request.method == "POST" and form.is_valid():
        try:
            car = add_car(by=request.user, **({"keeper": request.user} | form.cleaned_data))
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            messages.success(request, f"{show(car.registration)} is in the book. Next: what falls due on it.")
            return redirect("fleet:car", car.registration)
    return render(request, "fleet/car_add.html", {"form": form})


@read_or_write
def car_keeper(request: MemberRequest, mark: str) -> HttpResponse:
    """Hand a car on to another member: a coordinator's to say."""
    if not request.user.is_coordinator:
        raise Http404
    car = queries.car_for(request.user, mark)
    others = [member for member in active_members(timezone.localdate()) if member != car.keeper]
    form = HandOnForm(request.POST if request.method == "POST" else None, keepers=others)
    if request.method == "POST" and form.is_valid():
        keeper = form.cleaned_data["keeper"]
        hand_on_car(by=request.user, car=car, keeper=keeper)
        messages.success(request, f"{show(car.registration)} is now kept by {keeper.name}.")
        return redirect("fleet:car", car.registration)
    return render(request, "fleet/car_keeper.html", {"form": form, "car": car})


@read_or_write
def car_correct(request: MemberRequest, mark: str) -> HttpResponse:
    """Put right a car's mark and details: its keeper's to do, and a coordinator's."""
    car = queries.car_for(request.user, mark)
    form = CarCorrectForm(request.POST if request.method == "POST" else None, car=car, today=timezone.localdate())
    if request.method == "POST" and form.is_valid():
        try:
            car = correct_car(by=request.user, car=car, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            messages.success(request, f"Saved: {show(car.registration)}.")
            return redirect("fleet:car", car.registration)
    return render(request, "fleet/car_correct.html", {"form": form, "car": car, "told": _others(request, car)})


@read_or_write
def car_service(request: MemberRequest, mark: str) -> HttpResponse:
    """Put right the days on which a car is in service: its keeper's to do, and a coordinator's."""
    car = queries.car_for(request.user, mark)
    form = ServiceForm(request.POST if request.method == "POST" else None, car=car, today=timezone.localdate())
    if request.method == "POST" and form.is_valid():
        try:
            change_service(by=request.user, car=car, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            messages.success(request, f"The days in service of {show(car.registration)} are saved.")
            return redirect("fleet:car", car.registration)
    return render(request, "fleet/car_service.html", {"form": form, "car": car, "told": _others(request, car)})


def _others(request: MemberRequest, car: Car) -> list[Member]:
    """Who hears of a change to the car: all who keep it or have kept it, but for whoever makes it."""
    return [member for member in queries.keepers_since(car) if member != request.user]
