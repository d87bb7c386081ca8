"""Entering a car, saying who keeps one, and putting right what was entered of it."""

from django.http import HttpResponse
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import queries
from fleet.actions import add_car, change_service, correct_car, transfer_car
from fleet.core.registration import show
from fleet.forms import CarCorrectForm, CarForm, ServiceForm, TransferForm
from fleet.models import Car
from instructors.access import MemberRequest, coordinators_only
from instructors.models import Member
from instructors.queries import active_members


@read_or_write
def car_add(request: MemberRequest) -> HttpResponse:
    """Enter a car one keeps; coordinators say who does."""
    today = timezone.localdate()
    keepers = active_members(today) if request.user.is_coordinator else []
    form = CarForm(posted(request), today=today, keepers=keepers)

    def save() -> HttpResponse:
        car = add_car(by=request.user, **({"keeper": request.user} | form.cleaned_data))
        words = f"{show(car.registration)} is in the book. Next: what falls due on it."
        return go_on(request, words, "fleet:car", car.registration)

    return form_page(request, "fleet/car_add.html", form, save)


@read_or_write
@coordinators_only
def car_transfer(request: MemberRequest, mark: str) -> HttpResponse:
    """Hand a car on to another member: a coordinator's to say."""
    car = queries.car_for(request.user, mark)
    others = [member for member in active_members(timezone.localdate()) if member != car.keeper]
    form = TransferForm(posted(request), keepers=others)

    def save() -> HttpResponse:
        kept = transfer_car(by=request.user, car=car, **form.cleaned_data)
        words = f"{show(kept.registration)} is now kept by {kept.keeper.name}."
        return go_on(request, words, "fleet:car", kept.registration)

    return form_page(request, "fleet/car_transfer.html", form, save, {"car": car})


@read_or_write
def car_correct(request: MemberRequest, mark: str) -> HttpResponse:
    """Put right a car's mark and details: its keeper's to do, and a coordinator's."""
    car = queries.car_for(request.user, mark)
    form = CarCorrectForm(posted(request), car=car, today=timezone.localdate())

    def save() -> HttpResponse:
        corrected = correct_car(by=request.user, car=car, **form.cleaned_data)
        return go_on(request, f"Saved: {show(corrected.registration)}.", "fleet:car", corrected.registration)

    return form_page(request, "fleet/car_correct.html", form, save, {"car": car, "told": _others(request, car)})


@read_or_write
def car_service(request: MemberRequest, mark: str) -> HttpResponse:
    """Put right the days on which a car is in service: its keeper's to do, and a coordinator's."""
    car = queries.car_for(request.user, mark)
    form = ServiceForm(posted(request), car=car, today=timezone.localdate())

    def save() -> HttpResponse:
        change_service(by=request.user, car=car, **form.cleaned_data)
        words = f"The days in service of {show(car.registration)} are saved."
        return go_on(request, words, "fleet:car", car.registration)

    return form_page(request, "fleet/car_service.html", form, save, {"car": car, "told": _others(request, car)})


def _others(request: MemberRequest, car: Car) -> list[Member]:
    """Who hears of a change to the car: all who keep it or have kept it, but for whoever makes it."""
    return [member for member in queries.keepers_since(car) if member != request.user]
