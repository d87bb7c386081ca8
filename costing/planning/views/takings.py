"""Takings: one number a week, the weeks told so far, and what is left after the car."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date

from config import quantities
from config.changes import VoidForm, changes_of
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import hours_taught, pounds, span_of
from costing.core.money import to_pence
from costing.core.records import Period
from costing.core.week import DAYS, monday_of
from costing.models import Takings
from costing.planning.core import plausible
from costing.planning.core.left import last_sunday, mondays_of, sunday_of
from costing.planning.forms.takings import TOLD, TakingsForm
from costing.planning.report import OF_HOME, LeftOver, left_over, sentence
from costing.planning.services.takings import (
    correct_takings,
    minutes_by_week,
    record_takings,
    takings_for,
    takings_of,
    takings_since,
    void_takings,
)
from costing.queries import logged_as
from instructors.access import MemberRequest

#: So many weeks are listed, so many of them at once, and so many of the untold ones are offered.
_WEEKS, _OPEN, _OFFERED = 26, 8, 4
_SHOWN: dict[str, Callable[[Any], str]] = {"amount": pounds, "cancelled_minutes": hours_taught}
#: What the fields of a week are called in its history.
_NAMES = {"amount": "Taken", "cancelled_count": "Lessons cancelled", "cancelled_minutes": "Hours cancelled"}


class WeekRow(NamedTuple):
    """One week of the list: its days, what was taught, what was cancelled, and its takings or the way to tell them."""

    words: str
    about: str
    figure: str
    address: str


class WeekChip(NamedTuple):
    """A week that may be told, as a filter has it."""

    words: str
    address: str
    is_chosen: bool


@read_or_write
def takings(request: MemberRequest) -> HttpResponse:
    """Record what was taken in one week; below stand the weeks told so far, and what is left after the car."""
    today = timezone.localdate()
    newest = monday_of(last_sunday(today + timedelta(days=1)))
    shown = Period(newest - timedelta(days=DAYS * (_WEEKS - 1)), sunday_of(newest))
    told, minutes = takings_since(request.user, shown.first), minutes_by_week(request.user, shown)
    taken = {week.from_on: week for week in told}
    untold = [monday for monday in reversed(mondays_of(shown)) if monday not in taken][:_OFFERED]
    asked = _asked(request, today)
    # Another tab may have told it since: what was typed here stays, and may take its place.
    there = takings_of(request.user, asked) if asked and request.method == "POST" else None
    monday = asked if asked and (there or asked not in taken) else next(iter(untold), None)
    form = _form(request, taken, minutes, monday or newest, today, there=there)

    def say(words: str, kept: Takings) -> HttpResponse:
        return go_on(request, f"{words}: {pounds(kept.amount)}, {span_of(*_span(kept))}.", "costing:takings")

    def again() -> HttpResponse | None:
        first = logged_as(Takings, request.user, request.POST.get("ref"))
        return say("Saved already", first) if first else None

    def save() -> HttpResponse:
        typed = {**form.cleaned_data}
        if typed.pop("instead") and there:
            # What nobody typed now is not taken back.
            changes = {name: typed[name] for name in TOLD if typed[name] is not None}
            return say("Corrected", correct_takings(by=request.user, takings=there, changes=changes))
        kept, is_new = record_takings(by=request.user, **typed)
        return say("Saved" if is_new else "Saved already", kept)

    def context() -> dict[str, Any]:
        over = left_over(request.user, today) if told else []
        # Nothing nags: weeks before the first that is told are not listed.
        since = min(taken, default=today)
        rows = _rows(told, minutes, [one for one in mondays_of(shown) if one not in taken and one > since])
        best = next((one for one in _best_first(over) if one.left), None)
        return {
            "monday": monday,
            "days": monday and _days(monday, today),
            "chips": [WeekChip(_named(one, today), _to_tell(one), one == monday) for one in untold],
            "rows": rows[:_OPEN],
            "earlier": rows[_OPEN:],
            "over": over,
            "best": best,
            "sentence": sentence(best) if best else "",
        }

    return form_page(request, "costing/takings.html", form, save, context, again)


@read_or_write
def takings_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct the takings of one week; its history stands below the form."""
    week, today = takings_for(request.user, pk), timezone.localdate()
    own = Period(week.from_on - timedelta(days=DAYS * _WEEKS), week.to_on)
    told = {one.from_on: one for one in takings_since(request.user, own.first)}
    form = _form(request, told, minutes_by_week(request.user, own), week.from_on, today, week)

    def save() -> HttpResponse:
        kept = correct_takings(by=request.user, takings=week, changes=form.cleaned_data)
        return go_on(request, f"Corrected: {pounds(kept.amount)}, {span_of(*_span(kept))}.", "costing:takings")

    history = changes_of(week, _SHOWN, untold=("member",), nothing="not entered", names=_NAMES)
    return form_page(
        request,
        "costing/takings_correct.html",
        form,
        save,
        {"week": week, "span": span_of(*_span(week)), "history": history},
    )


@read_or_write
def takings_void(request: MemberRequest, pk: int) -> HttpResponse:
    """Void the takings of one week, once the member has confirmed it."""
    week, form = takings_for(request.user, pk), VoidForm(posted(request))

    def save() -> HttpResponse:
        void_takings(by=request.user, takings=week, **form.cleaned_data)
        return go_on(request, f"Voided: {pounds(week.amount)}, {span_of(*_span(week))}.", "costing:takings")

    return form_page(request, "costing/takings_void.html", form, save, {"week": week, "span": span_of(*_span(week))})


def _best_first(over: list[LeftOver]) -> list[LeftOver]:
    """The span that home tells of, then the others, shortest first."""
    return sorted(over, key=lambda one: (one.weeks != OF_HOME, one.weeks or 0))


def _form(
    request: MemberRequest,
    told: dict[date, Takings],
    minutes: dict[date, int],
    monday: date,
    today: date,
    week: Takings | None = None,
    there: Takings | None = None,
) -> TakingsForm:
    taken = {one: to_pence(takings.amount) for one, takings in told.items()}
    limits = plausible.limits(taken, minutes, monday)
    return TakingsForm(posted(request), limits=limits, today=today, monday=monday, takings=week, told=there)


def _asked(request: MemberRequest, today: date) -> date | None:
    """The week that the form or the address names; None if it names none that has ended."""
    sent = request.POST.get("from_on") or request.GET.get("week", "")
    try:
        day = parse_date(sent)
    except ValueError:
        return None
    if day is None or day < quantities.DAY.least or day > today:
        return None
    return monday_of(day) if sunday_of(monday_of(day)) <= today else None


def _to_tell(monday: date) -> str:
    return f"{reverse('costing:takings')}?{urlencode({'week': monday.isoformat()})}"


def _named(monday: date, today: date) -> str:
    return "Last week" if monday == monday_of(last_sunday(today)) else _days(monday, today)


def _days(monday: date, today: date) -> str:
    """A week by its days, without the year unless it is another: 28 September to 4 October."""
    sunday = sunday_of(monday)
    if sunday.year != today.year:
        return span_of(monday, sunday)
    return f"{monday.day}{'' if monday.month == sunday.month else f' {monday:%B}'} to {sunday.day} {sunday:%B}"


def _span(week: Takings) -> tuple[date, date]:
    return week.from_on, week.to_on


def _rows(told: list[Takings], minutes: dict[date, int], others: list[date]) -> list[WeekRow]:
    """The weeks, newest first: those that are told, and those with lessons that are not."""
    rows = {week.from_on: _row(week, minutes.get(week.from_on)) for week in told}
    for monday in others:
        if taught := minutes.get(monday):
            words = span_of(monday, sunday_of(monday))
            rows[monday] = WeekRow(words, f"{hours_taught(taught)} taught", "", _to_tell(monday))
    return [rows[monday] for monday in sorted(rows, reverse=True)]


def _row(week: Takings, taught: int | None) -> WeekRow:
    about = [f"{hours_taught(taught)} taught" if taught else "no lessons in the book"]
    if week.cancelled_count is not None or week.cancelled_minutes is not None:
        lessons = "" if week.cancelled_count is None else f"{week.cancelled_count} cancelled"
        hours = "" if week.cancelled_minutes is None else f"{hours_taught(week.cancelled_minutes)} cancelled"
        about.append(
            f"{lessons} ({hours_taught(week.cancelled_minutes or 0)})" if lessons and hours else lessons or hours
        )
    address = reverse("costing:takings-correct", args=[week.pk])
    return WeekRow(span_of(*_span(week)), ", ".join(about), pounds(week.amount), address)
