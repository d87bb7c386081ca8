"""Logging a fill, a cost or lessons, with one hand on a phone."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, page_or_fragment, posted
from config.http import read_or_write
from config.showing import day, whole
from costing.actions import log_cost, log_fill, log_teaching
from costing.actions.cover import cover_bought
from costing.forms import CostForm, EntryForm, FillForm, TeachingForm
from costing.models import CostEntry, Entry
from costing.report import own_lately
from costing.views.rows import row_of
from fleet.core.kinds import DUE_KINDS
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import cars_of, open_item_of, readings_of
from instructors.access import MemberRequest
from instructors.queries import cooperative

#: By cost category, the kind of due item that a cost was most likely paid for.
_WORK_BY = {kind.cost_category: kind for kind in DUE_KINDS.values() if kind.after_cost}
#: The last bills for a car may come in for so long after it has gone.
_BILLS_COME_FOR = timedelta(days=366)

Log = Callable[..., tuple[Entry, bool]]
NewForm = Callable[[Any], EntryForm]


@read_or_write
def fill_log(request: MemberRequest) -> HttpResponse:
    """Log fuel or charge bought."""
    today, cars = timezone.localdate(), loggable_cars(request)

    def new_form(data: Any) -> FillForm:
        return FillForm(data, cars=cars, today=today, last_reading=last_readings(cars, today))

    return _page(request, "costing/fill_log.html", cars, new_form, log_fill)


@read_or_write
def cost_log(request: MemberRequest) -> HttpResponse:
    """Log a sum paid or refunded."""
    today, cars = timezone.localdate(), loggable_cars(request)

    def new_form(data: Any) -> CostForm:
        return CostForm(data, cars=cars, today=today, tyre_life_miles=cooperative().tyre_life_miles)

    return _page(request, "costing/cost_log.html", cars, new_form, log_cost)


@require_safe
def cost_cover(request: MemberRequest) -> HttpResponse:
    """Answer with the fragment that asks what a cost covers, with the usual cover of its category filled in."""
    category = request.GET.get("category", "")
    tyre_life_miles = cooperative().tyre_life_miles
    form = CostForm(cars=[], today=timezone.localdate(), tyre_life_miles=tyre_life_miles)
    form.initial.update(form.usual_cover(category), category=category)
    return render(request, "costing/_cost_cover.html", {"form": form})


@read_or_write
def teaching_log(request: MemberRequest) -> HttpResponse:
    """Log lessons, hours taught and private miles."""
    today, cars = timezone.localdate(), loggable_cars(request)

    def new_form(data: Any) -> TeachingForm:
        return TeachingForm(data, cars=cars, today=today)

    return _page(request, "costing/teaching_log.html", cars, new_form, log_teaching)


@require_safe
def cost_card(request: MemberRequest) -> HttpResponse:
    """Answer with the fragment that says what a lesson costs now; a page asks for it after showing what was logged."""
    return render(request, "costing/_cost_card.html", {"spans": own_lately(request.user, timezone.localdate())})


def loggable_cars(request: MemberRequest) -> list[Car]:
    """Return the cars that the member may log on, those in service first; bills may come after a car has gone."""
    today = timezone.localdate()
    cars = cars_of(request.user, on=today - _BILLS_COME_FOR)
    return sorted(cars, key=lambda car: car.in_service_to is not None and car.in_service_to < today)


def last_readings(cars: list[Car], today: date) -> str:
    """Return each car's last odometer reading, as a hint beside the field."""
    odometers = readings_of([car.pk for car in cars], since=today)
    known = [(car, odometers[car.pk]) for car in cars if odometers[car.pk]]
    return " ".join(
        f"Last {f'of {show(car.registration)}' if len(cars) > 1 else 'reading'}: "
        f"{whole(odometer.at(odometer.last_on))} on {day(odometer.last_on)}."
        for car, odometer in known
    )


def _page(request: MemberRequest, template: str, cars: list[Car], new_form: NewForm, log: Log) -> HttpResponse:
    """Answer a log page that is asked for or sent: as a whole page or, for htmx, as its fragment."""
    if not cars:
        return render(request, "costing/no_car.html")
    form, template = new_form(posted(request)), page_or_fragment(request, template)

    def save() -> HttpResponse:
        entry, is_new = log(by=request.user, **form.cleaned_data)
        if not request.htmx:
            return go_on(request, _told_with_link(entry, is_new=is_new), "costing:home")
        saved = {
            "form": new_form(None),
            "saved": row_of(entry),
            "told": _told(entry, is_new=is_new),
            "work_done": _work_done(entry),
        }
        return render(request, template, saved)

    return form_page(request, template, form, save)


def _told(entry: Entry, *, is_new: bool) -> str:
    row = row_of(entry)
    what = "Logged" if is_new else "Already logged, nothing was added"
    return f"{what}: {row.title}, {row.figure}, {row.detail}.{_cover_to_come(entry)}"


def _cover_to_come(entry: Entry) -> str:
    """Warn of days without cover before what was bought begins; return nothing if there is no gap."""
    cover = cover_bought(entry)
    if cover is None or cover.since <= timezone.localdate():
        return ""
    item = open_item_of(entry.car, cover.kind)
    if item is not None and item.due_on is not None and item.due_on >= cover.until:
        return ""
    return (
        f" It begins on {day(cover.since)}, and the book has no cover for the days before that: "
        "record the renewal on the car's page once it has begun."
    )


def _told_with_link(entry: Entry, *, is_new: bool) -> str:
    """Return what was logged and, for work that may be due, a link to record it as done."""
    told = _told(entry, is_new=is_new)
    if (work := _work_done(entry)) is None:
        return told
    question, link = work
    return format_html('{} {} <a href="{}">Record it as done</a>', told, question, link)


def _work_done(entry: Entry) -> tuple[str, str] | None:
    """Return what to ask after a cost for work that may be due, and the address where it is recorded as done.

    Cover needs no question: its cost has already moved the due item.
    """
    if not isinstance(entry, CostEntry) or entry.amount <= 0 or entry.category not in _WORK_BY:
        return None
    kind = _WORK_BY[entry.category]
    if item := open_item_of(entry.car, kind.name):
        return kind.after_cost, f"{reverse('fleet:due-item-complete', args=[item.pk])}?cost={entry.ref}"
    return kind.after_cost, f"{reverse('fleet:due-item-add', args=[entry.car.registration])}?kind={kind.name}"
