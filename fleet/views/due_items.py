"""Correcting, booking and meeting due items, of a car or of a member."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from config.showing import day, whole
from fleet import actions, queries
from fleet.core.kinds import KINDS
from fleet.forms import BookingForm, CompletionForm, DueItemForm
from fleet.models import DueItem
from fleet.queries import DueLine, Subject
from fleet.views import MemberRequest
from fleet.views.answers import done, home_of, home_words, put_refusal, title_of
from fleet.views.wording import done_words, words_of
from instructors.models import Member

read_or_write = require_http_methods(["GET", "HEAD", "POST"])


@read_or_write
def due_item_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct what is recorded of a due item."""
    item = queries.due_item_for(request.user, pk)
    form = DueItemForm(
        request.POST if request.method == "POST" else None,
        kind=KINDS[item.kind],
        of_car=item.car is not None,
        today=timezone.localdate(),
        initial={name: getattr(item, name) for name in DueItemForm.base_fields},
    )
    if request.method == "POST" and form.is_valid():
        try:
            actions.change_due_item(by=request.user, item=item, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            return done(request, item, f"{title_of(item)} is corrected.")
    return _page(request, "fleet/due_item_correct.html", item, form)


@read_or_write
def due_item_complete(request: MemberRequest, pk: int) -> HttpResponse:
    """Record that a due item was met; it moves on to when it falls due again."""
    item = queries.due_item_for(request.user, pk)
    today = timezone.localdate()
    form = CompletionForm(
        request.POST if request.method == "POST" else None,
        item=item,
        today=today,
        proposed=queries.proposed_next_due_on(item, today),
    )
    if request.method == "POST" and form.is_valid():
        try:
            completion = actions.complete_due_item(by=request.user, item=item, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            met = completion.due_item
            return done(request, met, f"{title_of(met)}: recorded as done on {day(completion.done_on)}. {_next(met)}")
    return _page(request, "fleet/due_item_complete.html", item, form)


def _next(item: DueItem) -> str:
    """When an item that was met falls due again."""
    parts = [day(item.due_on)] if item.due_on else []
    if item.due_miles is not None:
        parts.append(f"at {whole(item.due_miles)} miles")
    if item.closed_on or not parts:
        return "It does not come back."
    return f"Next due: {' or '.join(parts)}."


@read_or_write
def due_item_book(request: MemberRequest, pk: int) -> HttpResponse:
    """Record the day for which something is booked, or that it is booked no more."""
    item = queries.due_item_for(request.user, pk)
    if request.method == "POST" and "clear" in request.POST:
        actions.book_due_item(by=request.user, item=item, booked_for=None)
        return done(request, item, f"{title_of(item)} is not booked any more.")
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        booked_for=item.booked_for,
        today=timezone.localdate(),
    )
    if request.method == "POST" and form.is_valid():
        try:
            actions.book_due_item(by=request.user, item=item, **form.cleaned_data)
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            return done(request, item, f"{title_of(item)} is booked for {day(form.cleaned_data['booked_for'])}.")
    return _page(request, "fleet/due_item_book.html", item, form)


def _page(request: MemberRequest, template: str, item: DueItem, form: forms.Form) -> HttpResponse:
    """A page about one item: its form under how it stands now."""
    subject = _subject_of(item)
    line = _line_of(item, subject)
    context: dict[str, Any] = {
        "item": item,
        "form": form,
        "kind": KINDS[item.kind],
        "title": title_of(item),
        "subject": subject.words,
        "words": words_of(line) if line else None,
        "done_words": done_words(item.kind),
        "back": home_of(item, request.user),
        "back_words": home_words(item, request.user),
    }
    return render(request, template, context)


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
