"""Entering, correcting and booking due items; where each is listed, and what that page is called."""

from collections.abc import Callable
from typing import Any, cast

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone

from config.fields import AnswerField
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day
from fleet import actions, queries
from fleet.core import registration as marks
from fleet.core.days import ONE_DAY
from fleet.core.due_kinds import DUE_KINDS
from fleet.forms import BookingForm, DueItemForm
from fleet.models import Car, DueItem
from fleet.queries import DueLine, Subject
from fleet.views.wording import words_of
from fleet.wording import window_words
from instructors.access import MemberRequest
from instructors.models import Member


@read_or_write
def due_item_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct what is recorded of a due item."""
    item = queries.due_item_for(request.user, pk)
    form = DueItemForm(
        posted(request),
        kind=item.due_kind,
        of_car=item.car is not None,
        today=timezone.localdate(),
        initial=_terms_of(item),
    )

    def save() -> HttpResponse:
        actions.change_due_item(by=request.user, item=item, **form.cleaned_data)
        return go_on(request, f"{item.title} is corrected.", home_of(item, request.user))

    return item_page(request, "fleet/due_item_correct.html", item, form, save)


def _terms_of(item: DueItem) -> dict[str, Any]:
    """What is recorded of an item, as its form starts."""
    terms = {name: getattr(item, name) for name in DueItemForm.base_fields if name != "tuition"}
    # A car that was handed over today is the taker's from tomorrow on, and so is the answer.
    tomorrow = timezone.localdate() + ONE_DAY
    if item.car and item.due_kind.confirms_tuition and (answer := queries.tuition_cover_of(item.car, tomorrow)):
        terms["tuition"] = AnswerField.choice_of(answer.is_met)
    return terms


@read_or_write
def due_item_book(request: MemberRequest, pk: int) -> HttpResponse:
    """Record the day for which something is booked, or remove the booking."""
    item, today = queries.due_item_for(request.user, pk), timezone.localdate()
    form = BookingForm(posted(request), booked_for=item.booked_for, today=today)

    def save() -> HttpResponse:
        booked_for = form.cleaned_data["booked_for"]
        actions.book_due_item(by=request.user, item=item, booked_for=booked_for)
        how = f"booked for {day(booked_for)}" if booked_for else "no longer booked"
        return go_on(request, f"{item.title} is {how}.", home_of(item, request.user))

    is_to_come = item.due_kind.is_mot and item.due_on is not None and item.due_on >= today
    window = window_words(item.due_on, today) if is_to_come and item.due_on else ""
    return item_page(request, "fleet/due_item_book.html", item, form, save, window=window)


def item_page(
    request: MemberRequest,
    template: str,
    item: DueItem,
    form: forms.Form,
    save: Callable[[], HttpResponse],
    **more: Any,
) -> HttpResponse:
    """A form page about one item: its state now, its form, and whatever ``more`` the template needs."""
    return form_page(request, template, form, save, lambda: _how_it_stands(item, request.user) | more)


def _how_it_stands(item: DueItem, member: Member) -> dict[str, Any]:
    subject = _subject_of(item)
    line = _line_of(item, subject)
    return {
        "item": item,
        "kind": item.due_kind,
        "concerns": item.car.keeper if item.car else item.member,
        "title": item.title,
        "subject": subject.words,
        "words": words_of(line) if line else None,
        "back": home_of(item, member),
        "back_words": home_words(item, member),
    }


def _line_of(item: DueItem, subject: Subject) -> DueLine | None:
    """The state of an item today; None for a car out of service, on which nothing falls due."""
    today = timezone.localdate()
    if subject.car:
        report = queries.due_report(today, cars=[subject.car])
    else:
        report = queries.due_report(today, members=[subject.member])
    return next((line for line in report.lines() if line.item_id == item.pk), None)


def _subject_of(item: DueItem) -> Subject:
    if item.car is not None:
        return Subject(item.car.keeper, item.car)
    return Subject(cast(Member, item.member))  # the database makes sure that it has a car or a member


def home_of(item: DueItem, member: Member) -> str:
    """The page on which ``member`` finds an item: its car's, their own, or the board."""
    if item.car:
        return resolve_url("fleet:car", item.car.registration)
    return resolve_url("fleet:profile" if item.member == member else "fleet:car-list")


def home_words(item: DueItem, member: Member) -> str:
    """What that page is called."""
    if item.car:
        return marks.show(item.car.registration)
    return "my page" if item.member == member else "the cars"


@read_or_write
def due_item_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Enter something that falls due on a car: first which kind, then when."""
    car = queries.car_for(request.user, mark)
    report = queries.due_report(timezone.localdate(), cars=[car])
    return _add(request, report.lines(), car)


@read_or_write
def credential_add(request: MemberRequest) -> HttpResponse:
    """Enter a credential of one's own."""
    report = queries.due_report(timezone.localdate(), members=[request.user])
    return _add(request, report.lines(), None)


def _add(request: MemberRequest, lines: list[DueLine], car: Car | None) -> HttpResponse:
    """Ask for the kind if the address names none, otherwise for its terms; ``lines`` is what is recorded."""
    kinds = [kind for kind in DUE_KINDS.values() if kind.belongs_to("car" if car else "member")]
    by_kind = {line.kind.name: line for line in lines}
    recorded = {name for name, line in by_kind.items() if line.item_id is not None}
    kind = next((kind for kind in kinds if kind.name == request.GET.get("kind")), None)
    if kind is None:
        kinds = [kind for kind in kinds if kind.name not in recorded]
        return render(request, "fleet/due_item_kind.html", {"kinds": kinds, "car": car})
    line = by_kind.get(kind.name)
    if line and line.item_id is not None and request.method != "POST":
        return redirect("fleet:due-item-correct", line.item_id)
    form = DueItemForm(
        posted(request),
        kind=kind,
        of_car=car is not None,
        today=timezone.localdate(),
        initial={"due_on": line.status.due_on if line else None, "every_months": kind.usual_months},
    )

    def save() -> HttpResponse:
        member = None if car else request.user
        item = actions.add_due_item(by=request.user, kind=kind.name, car=car, member=member, **form.cleaned_data)
        return go_on(request, f"{kind.words} is in the book.", home_of(item, request.user))

    return form_page(request, "fleet/due_item_add.html", form, save, {"kind": kind, "car": car})
