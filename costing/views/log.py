"""Logging a fill, a cost or lessons, with one hand on a phone."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_POST, require_safe

from config.fields import RefField
from config.form_page import Done, button_pressed, form_page, page_or_fragment, posted, tell
from config.http import read_or_write
from config.showing import day
from costing.actions import log_cost, log_fill, log_no_lessons, log_teaching
from costing.actions.cover import cover_bought
from costing.forms import CostForm, EntryForm, FillForm, TeachingForm
from costing.models import CostEntry, Entry
from costing.report import own_lately
from costing.views.rows import row_of
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from fleet.queries import kept_cars, open_item_of
from instructors.access import MemberRequest, of_its_member
from instructors.models import Member

#: By cost category, the kind of due item that a cost was most likely paid for.
_WORK_BY = {kind.cost_category: kind for kind in DUE_KINDS.values() if kind.after_cost}
#: The last bills for a car may come in for so long after it has gone.
_BILLS_COME_FOR = timedelta(days=366)

Log = Callable[..., tuple[Entry, bool]]


@read_or_write
@of_its_member
def fill_log(request: MemberRequest) -> HttpResponse:
    """Log fuel or charge bought."""
    return _page(request, "costing/fill_log.html", FillForm, log_fill)


@read_or_write
@of_its_member
def cost_log(request: MemberRequest) -> HttpResponse:
    """Log a sum paid or refunded."""
    return _page(request, "costing/cost_log.html", CostForm, log_cost)


@require_safe
def cost_cover(request: MemberRequest) -> HttpResponse:
    """Answer with the fragment that asks what a cost covers, with the usual cover of its category filled in.

    With ``?again`` another car or day was chosen: then what the member has filled in themselves is left alone.
    """
    if "again" in request.GET and CostForm.is_cover_typed(request.GET):
        return HttpResponse(status=204)
    today = timezone.localdate()
    form = CostForm(by=request.user, cars=_loggable_cars(request.user, today), today=today)
    form.begin_with_cover(request.GET)
    return render(request, "costing/_cost_cover.html", {"form": form})


@read_or_write
@of_its_member
def teaching_log(request: MemberRequest) -> HttpResponse:
    """Log lessons, hours taught and private miles."""
    return _page(request, "costing/teaching_log.html", TeachingForm, log_teaching)


@require_POST
def teaching_none(request: MemberRequest) -> HttpResponse:
    """Log with one tap that there were no lessons this week, up to today."""

    def log() -> str:
        ref = RefField().clean(request.POST.get("ref"))
        entry, is_new = log_no_lessons(by=request.user, ref=ref, on=timezone.localdate())
        to = reverse("costing:entry-correct", args=["lessons", entry.pk])
        return format_html('{} <a href="{}">Correct it</a>', _told(entry, is_new=is_new), to)

    return button_pressed(request, log, "costing:home")


@require_safe
def cost_card(request: MemberRequest) -> HttpResponse:
    """Answer with the fragment that says what a lesson costs now; a page asks for it after showing what was logged."""
    return render(request, "costing/_cost_card.html", {"spans": own_lately(request.user, timezone.localdate())})


def _loggable_cars(member: Member, today: date) -> list[Car]:
    """Return the cars that the member may log on, those kept in service first; bills may come after a car has gone.

    Whoever has handed a car over still logs the last days of their own time with it.
    """
    cars = kept_cars(member, since=today - _BILLS_COME_FOR)
    return sorted(cars, key=lambda car: (car.keeper_id != member.pk, (car.in_service_to or today) < today))


def _page(request: MemberRequest, template: str, form_class: type[EntryForm], log: Log) -> HttpResponse:
    """Answer a log page that is asked for or sent: as a whole page or, for htmx, as its fragment."""
    today = timezone.localdate()
    cars = _loggable_cars(request.user, today)
    if not cars:
        return render(request, "costing/no_car.html")
    form, template = (
        form_class(posted(request), by=request.user, cars=cars, today=today),
        page_or_fragment(request, template),
    )

    def save() -> HttpResponse:
        entry, is_new = log(by=request.user, **form.cleaned_data)
        if not request.htmx:
            return tell(request, _done(entry, is_new=is_new), "costing:home")
        another = form_class(by=request.user, cars=cars, today=today)
        another.put_hints(saved=entry)
        context = {
            "form": another,
            "saved": row_of(entry),
            "told": _told(entry, is_new=is_new),
            "work_done": _work_done(entry),
        }
        return render(request, template, context)

    def hinted() -> dict[str, Any]:
        form.put_hints()
        return {"form": form}

    return form_page(request, template, form, save, hinted)


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


def _done(entry: Entry, *, is_new: bool) -> Done:
    """Return what was logged, how it is undone, and where it is corrected or, for work, recorded as done."""
    told, row = _told(entry, is_new=is_new), row_of(entry)
    links = [("Correct it", reverse("costing:entry-correct", args=[row.kind, row.pk]))]
    if work := _work_done(entry):
        question, address = work
        told, links = f"{told} {question}", [("Record it as done", address), *links]
    undo = "" if row.is_voided else reverse("costing:entry-undo", args=[row.kind, row.pk])
    return Done(is_new, told, undo, links)


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
