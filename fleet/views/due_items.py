"""Correcting and booking due items, of a car or of a member."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config.fields import AnswerField
from config.http import read_or_write
from config.showing import day
from fleet import actions, queries
from fleet.forms import BookingForm, DueItemForm
from fleet.models import DueItem
from fleet.queries import DueLine, Subject
from fleet.views import MemberRequest
from fleet.views.answers import done, home_of, home_words, put_refusal
from fleet.views.wording import words_of
from fleet.wording import window_words
from instructors.models import Member


@read_or_write
def due_item_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct what is recorded of a due item."""
    item = queries.due_item_for(request.user, pk)
    form = DueItemForm(
        request.POST if request.method == "POST" else None,
        kind=item.due_kind,
        of_car=item.car is not None,
        today=timezone.localdate(),
        initial=_terms_of(item),
    )
    if request.method == "POST" and form.is_valid():
        try:
            actions.change_due_item(by=request.user, item=item, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            return done(request, item, f"{item.title} is corrected.")
    return item_page(request, "fleet/due_item_correct.html", item, form)


def _terms_of(item: DueItem) -> dict[str, Any]:
    """What is recorded of an item, as its form starts."""
    terms = {name: getattr(item, name) for name in DueItemForm.base_fields if name != "tuition"}
    if item.due_kind.confirms_tuition and (answer := queries.tuition_cover_of(item.car)):
        terms["tuition"] = AnswerField.choice_of(answer.is_met)
    return terms


@read_or_write
def due_item_book(request: MemberRequest, pk: int) -> HttpResponse:
    """Record the day for which something is booked, or that it is booked no more."""
    item = queries.due_item_for(request.user, pk)
    is_taken_back = "clear" in request.POST
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        booked_for=item.booked_for,
        today=timezone.localdate(),
    )
    if request.method == "POST" and (is_taken_back or form.is_valid()):
        booked_for = None if is_taken_back else form.cleaned_data["booked_for"]
        try:
            actions.book_due_item(by=request.user, item=item, booked_for=booked_for)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            how = f"booked for {day(booked_for)}" if booked_for else "not booked any more"
            return done(request, item, f"{item.title} is {how}.")
    window = window_words(item.due_on) if item.due_kind.is_mot and item.due_on else ""
    return item_page(request, "fleet/due_item_book.html", item, form, window=window)


def item_page(request: MemberRequest, template: str, item: DueItem, form: forms.Form, **more: Any) -> HttpResponse:
    """A page about one item: its form under how it stands now, and whatever ``more`` the template needs."""
    subject = _subject_of(item)
    line = _line_of(item, subject)
    context: dict[str, Any] = {
        "item": item,
        "form": form,
        "kind": item.due_kind,
        "concerns": item.car.keeper if item.car else item.member,
        "title": item.title,
        "subject": subject.words,
        "words": words_of(line) if line else None,
        "back": home_of(item, request.user),
        "back_words": home_words(item, request.user),
    }
    return render(request, template, context | more)


def _line_of(item: DueItem, subject: Subject) -> DueLine | None:
    """How an item stands today; None for a car out of service, on which nothing falls due."""
    today = timezone.localdate()
    if subject.car:
        report = queries.due_report(today, cars=[subject.car])
    else:
        report = queries.due_report(today, members=[subject.member])
    return next((line for line in report.lines() if line.item_id == item.pk), None)


def _subject_of(item: DueItem) -> Subject:
    if item.car is not None:
        return Subject(item.car.keeper, item.car)
    return Subject(cast(Member, item.member))  # of a car or of a member: the database sees to it
