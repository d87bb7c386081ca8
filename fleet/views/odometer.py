"""Writing down what an odometer shows."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from config.http import read_or_write
from config.showing import day, whole
from fleet import queries
from fleet.actions import record_reading
from fleet.forms import OdometerForm
from fleet.views import MemberRequest


@read_or_write
def odometer_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Write down an odometer reading of a car; it may not fall."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    reading = queries.last_reading_of(car, today)
    form = OdometerForm(request.POST if request.method == "POST" else None, today=today)
    if reading:
        form.fields["miles"].help_text = f"Last: {whole(reading.miles)} miles on {day(reading.read_on)}."
    if request.method == "POST" and form.is_valid():
        try:
            written = record_reading(by=request.user, car=car, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"{whole(written.miles)} miles on {day(written.read_on)} are in the book.")
            return redirect("fleet:car", car.registration)
    return render(request, "fleet/odometer_add.html", {"form": form, "car": car})
