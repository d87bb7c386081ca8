"""Logging a fill, a cost or a week of lessons, with one hand on a phone."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.http import HttpResponse
from django.utils import timezone

from config.form_page import form_page, no_form_page, posted, posted_files, tell
from config.http import read_or_write
from config.quantities import DAY
from costing.actions import log_cost, log_fill, log_week
from costing.core.week import monday_of
from costing.forms import CostForm, EntryForm, FillForm, WeekForm
from costing.models import Batch, Entry
from costing.queries import logged_as
from costing.queries.lately import loggable_cars
from costing.queries.teaching import car_taught_in
from costing.queries.weeks import LatelyTaught
from costing.views.logged import LEFT_OUT, done_of
from instructors.access import MemberRequest, few_at_once, of_its_member

NO_CAR = "You have no car in the book."

Log = Callable[..., tuple[Entry, bool]]


@read_or_write
@of_its_member
@few_at_once
def fill_log(request: MemberRequest) -> HttpResponse:
    """Log fuel or charge bought."""
    return _page(request, "costing/fill_log.html", FillForm, log_fill)


@read_or_write
@of_its_member
@few_at_once
def cost_log(request: MemberRequest) -> HttpResponse:
    """Log a sum paid or refunded."""
    return _page(request, "costing/cost_log.html", CostForm, log_cost)


@read_or_write
@of_its_member
def teaching_log(request: MemberRequest) -> HttpResponse:
    """Log a week of lessons and its private miles: the week asked for, or the last one that is not all in the book."""
    today, sent = timezone.localdate(), request.POST or request.GET
    times = loggable_cars(request.user, today)
    cars = {car.registration: car for car in times}
    if not cars:
        return no_form_page(request, "costing/no_car.html", NO_CAR)
    car = cars.get(sent.get("car", "")) or car_taught_in(request.user, today) or next(iter(cars.values()))
    monday = _monday_in(sent.get("week", ""), today)
    shown = LatelyTaught(request.user, times, today, monday).week(car, monday)
    form = WeekForm(
        posted(request),
        by=request.user,
        cars=list(cars.values()),
        today=today,
        shown=shown,
        is_none="none" in request.POST,
    )

    def save() -> tuple[Batch, bool]:
        data, (days, replaces) = form.cleaned_data, form.to_log()
        return log_week(
            by=request.user,
            car=data["car"],
            ref=data["ref"],
            days=days,
            replaces=replaces,
            found_right=" ".join(form.found_right),
        )

    return _answer(request, "costing/teaching_log.html", form, Batch, save)


def _monday_in(asked: str, today: date) -> date | None:
    """Return the Monday of the week that is asked for, unless it is still to come or no day."""
    try:
        monday = monday_of(date.fromisoformat(asked))
    except (ValueError, OverflowError):
        return None
    return monday if DAY.least <= monday <= today else None


def _page(request: MemberRequest, template: str, form_class: type[EntryForm], log: Log) -> HttpResponse:
    """Answer the page of a fill or a cost, asked for or sent; ``?car=`` has that car chosen."""
    today, asked = timezone.localdate(), request.GET.get("car")
    cars = sorted(loggable_cars(request.user, today), key=lambda car: car.registration != asked)
    if not cars:
        return no_form_page(request, "costing/no_car.html", NO_CAR)
    form = form_class(posted(request), posted_files(request), by=request.user, cars=cars, today=today)
    return _answer(
        request,
        template,
        form,
        form_class.model,
        lambda: log(by=request.user, found_right=" ".join(form.found_right), **form.cleaned_data),
    )


def _answer(
    request: MemberRequest,
    template: str,
    form: EntryForm,
    model: type[Entry] | type[Batch],
    log: Callable[[], tuple[Entry | Batch, bool]],
) -> HttpResponse:
    """Answer a log page. What is sent again is told of as before: it would be asked about what it logged itself."""

    def again() -> HttpResponse | None:
        first = logged_as(model, request.user, request.POST.get("ref"))
        return tell(request, done_of(first, is_new=False), "costing:home") if first else None

    def save() -> HttpResponse:
        if form.is_left_out:
            return tell(request, LEFT_OUT, "costing:home")
        logged, is_new = log()
        return tell(request, done_of(logged, is_new=is_new), "costing:home")

    def shown() -> dict[str, Any]:
        form.put_hints()
        return {}

    return form_page(request, template, form, save, shown, again)
