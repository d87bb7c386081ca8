"""Writing down what an odometer shows, and putting right what was written down."""

from django.core.paginator import Paginator
from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day, whole
from fleet import queries
from fleet.actions import correct_reading, record_reading, remove_reading
from fleet.forms import ReadingCorrectForm, ReadingForm
from fleet.models import Car, OdometerReading
from instructors.access import MemberRequest
from instructors.models import Member

_PAGE_LENGTH = 25


@read_or_write
def odometer_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Record an odometer reading of a car; it may not fall."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = ReadingForm(posted(request), today=today)
    form.put_odometer(request.user, car, today)

    def save() -> HttpResponse:
        written = record_reading(by=request.user, car=car, **form.cleaned_data)
        return go_on(request, _in_the_book(written), "fleet:car", car.registration)

    return form_page(request, "fleet/odometer_add.html", form, save, {"car": car})


@require_safe
def readings(request: MemberRequest, mark: str) -> HttpResponse:
    """The readings of a car, newest first. Those that came with fills belong to their member and are not listed."""
    car = queries.car_for(request.user, mark)
    page = Paginator(queries.written_readings_of(car), _PAGE_LENGTH).get_page(request.GET.get("page"))
    return render(request, "fleet/readings.html", {"car": car, "page": page})


@read_or_write
def reading_correct(request: MemberRequest, mark: str, pk: int) -> HttpResponse:
    """Correct what the odometer showed on a day."""
    car = queries.car_for(request.user, mark)
    reading = _reading_of(car, pk)
    form = ReadingCorrectForm(posted(request), kept=reading)
    form.put_odometer(request.user, car, timezone.localdate())

    def save() -> HttpResponse:
        corrected = correct_reading(by=request.user, car=car, read_on=reading.read_on, **form.cleaned_data)
        return go_on(request, _in_the_book(corrected), "fleet:readings", car.registration)

    context = {"car": car, "reading": reading, "told": _others(request, car, reading)}
    return form_page(request, "fleet/reading_correct.html", form, save, context)


@read_or_write
def reading_remove(request: MemberRequest, mark: str, pk: int) -> HttpResponse:
    """Remove a reading once that is confirmed; one that is already gone is not an error."""
    car = queries.car_for(request.user, mark)
    reading = queries.written_reading_of(car, pk)
    if reading is None and request.method != "POST":
        raise Http404

    def save() -> HttpResponse:
        is_removed = reading is not None and remove_reading(by=request.user, car=car, read_on=reading.read_on)
        words = "The reading is removed." if is_removed else "That reading is not in the book."
        return go_on(request, words, "fleet:readings", car.registration)

    context = {"car": car, "reading": reading, "told": _others(request, car, reading)}
    return form_page(request, "fleet/reading_remove.html", Form(posted(request)), save, context)


def _in_the_book(reading: OdometerReading) -> str:
    return f"{whole(reading.miles)} miles on {day(reading.read_on)} are in the book."


def _others(request: MemberRequest, car: Car, reading: OdometerReading | None) -> list[Member]:
    """Who is told of a change to a reading: keepers of the car since that day, except whoever makes it."""
    kept = queries.keepers_since(car, reading.read_on) if reading else []
    return [member for member in kept if member != request.user]


def _reading_of(car: Car, pk: int) -> OdometerReading:
    reading = queries.written_reading_of(car, pk)
    if reading is None:
        raise Http404
    return reading
