"""What repeats: the member's own list, entering it, changing its sum, stopping it."""

from datetime import date
from typing import NamedTuple

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.fields import RefField
from config.form_page import button_pressed, form_page, go_on, posted
from config.http import read_or_write
from config.showing import day, in_words, pence_as_pounds, pounds
from costing.actions import change_repeat, record_repeat, repeat_agreement, stop_repeat
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.repeats import next_dues
from costing.forms import RepeatChangeForm, RepeatForm, RepeatStopForm
from costing.models import Repeat
from costing.queries import logged_as
from costing.queries.listing import agreement_for
from costing.queries.repeats import (
    Coming,
    Ended,
    coming_of,
    made_by,
    repeat_for,
    repeating_of,
    repeats_of,
    settled_of,
)
from costing.views.car_cost import own_car_or_404
from costing.views.instalments import extras_of
from costing.views.rows import row_of
from fleet.core.registration import show
from fleet.queries import cars_of
from instructors.access import MemberRequest

#: From how many of the days to come one may choose.
_DAYS_OFFERED = 12
_ENDED = {
    Ended.STOPPED: "Nothing after {day}",
    Ended.PAID: "All payments are made",
    Ended.HANDED_OVER: "You handed the car over on {day}, so it has stopped",
    Ended.OUT_OF_SERVICE: "The car’s last day in service was {day}, so it has stopped",
    Ended.LEFT: "You left the co-op on {day}, so it has stopped",
}


class RepeatRow(NamedTuple):
    """One line of the list: what repeats, how often, what comes when, and how many were made."""

    repeat: Repeat
    mark: str
    comes: str
    made: str
    is_over: bool


@require_safe
def repeat_list(request: MemberRequest) -> HttpResponse:
    """List what repeats: what comes when, and what was made so far."""
    today = timezone.localdate()
    rows = [_row(repeat, today) for repeat in repeats_of(request.user)]
    rows.sort(key=lambda row: row.is_over)
    context = {
        "rows": rows,
        "has_car": bool(cars_of(request.user, today)),
        "has_several": len({row.mark for row in rows}) > 1,
    }
    return render(request, "costing/repeat_list.html", context)


@read_or_write
def repeat_add(request: MemberRequest) -> HttpResponse:
    """Enter a cost that comes again, once."""
    today = timezone.localdate()
    cars = cars_of(request.user, today)
    if not cars:
        return render(request, "costing/no_car.html")
    form = RepeatForm(posted(request), by=request.user, cars=cars, today=today)

    def told(repeat: Repeat, *, is_new: bool) -> HttpResponse:
        return go_on(request, _entered(repeat, today, is_new=is_new), "costing:repeat", repeat.pk)

    def again() -> HttpResponse | None:
        first = logged_as(Repeat, request.user, request.POST.get("ref"))
        return told(first, is_new=False) if first else None

    def save() -> HttpResponse:
        if form.is_left_out:
            return go_on(request, "Left out: nothing was added.", "costing:repeat-list")
        repeat, is_new = record_repeat(by=request.user, today=today, **form.cleaned_data)
        return told(repeat, is_new=is_new)

    return form_page(request, "costing/repeat_add.html", form, save, again=again)


@require_safe
def repeat(request: MemberRequest, pk: int) -> HttpResponse:
    """Show one: what comes next, and what it made."""
    found, today = repeat_for(request.user, pk), timezone.localdate()
    coming = coming_of(found, today)
    context = {
        "repeat": found,
        "comes": _comes(found, coming),
        "coming": coming,
        "extras": extras_of(found),
        "rows": [row_of(entry) for entry in made_by(found)],
        "settled": settled_of(found),
    }
    return render(request, "costing/repeat.html", context)


@read_or_write
def repeat_change(request: MemberRequest, pk: int) -> HttpResponse:
    """Change the sum from one of its days on."""
    found, today = repeat_for(request.user, pk), timezone.localdate()
    since = max(filter(None, [found.made_until, today - ONE_DAY]))
    coming = next_dues(repeating_of(found), since, _DAYS_OFFERED)
    form = RepeatChangeForm(posted(request), coming=coming)
    is_announced = bool(coming and found.next_amount_from and found.next_amount_from > coming[0].on)

    def save() -> HttpResponse:
        change_repeat(by=request.user, repeat=found, **form.cleaned_data)
        amount, from_on = pounds(form.cleaned_data["amount"]), day(form.cleaned_data["from_on"])
        return go_on(request, f"Changed: {amount} from {from_on} on.", "costing:repeat", found.pk)

    return form_page(request, "costing/repeat_change.html", form, save, {"repeat": found, "is_announced": is_announced})


@read_or_write
def repeat_stop(request: MemberRequest, pk: int) -> HttpResponse:
    """Stop it, from some day on."""
    found = repeat_for(request.user, pk)
    form = RepeatStopForm(posted(request), today=timezone.localdate())

    def save() -> HttpResponse:
        stopped = stop_repeat(by=request.user, repeat=found, **form.cleaned_data)
        assert stopped.stopped_on is not None  # noqa: S101 - the action has just set it
        return go_on(request, f"Stopped: nothing after {day(stopped.stopped_on)}.", "costing:repeat", found.pk)

    return form_page(request, "costing/repeat_stop.html", form, save, {"repeat": found})


@require_POST
def agreement_repeat(request: MemberRequest, mark: str, pk: int) -> HttpResponse:
    """Have an agreement's own instalments entered as they fall due, with one tap."""
    car = own_car_or_404(request.user, mark)
    agreement, today = agreement_for(request.user, car, pk), timezone.localdate()

    def begin() -> str:
        ref, only_from_now = RefField().clean(request.POST.get("ref")), "only_from_now" in request.POST
        found = repeat_agreement(
            by=request.user, agreement=agreement, ref=ref, today=today, only_from_now=only_from_now
        )
        return _entered(found[0], today, is_new=found[1])

    return button_pressed(request, begin, "costing:repeat-list")


def _row(repeat: Repeat, today: date) -> RepeatRow:
    coming = coming_of(repeat, today)
    made: int = repeat.made_count  # type: ignore[attr-defined]  # counted by the query
    words = f"{in_words(made)} made so far" if made else "none made yet"
    return RepeatRow(repeat, show(repeat.car.registration), _comes(repeat, coming), words, coming.due is None)


def _comes(repeat: Repeat, coming: Coming) -> str:
    """Say when it falls due next, with the sum if it is another than usual, or why it does not."""
    if coming.due:
        is_usual = coming.due.amount == to_pence(repeat.amount)
        return f"Next on {day(coming.due.on)}{'' if is_usual else f': {pence_as_pounds(coming.due.amount)}'}"
    if coming.ended is Ended.HANDED_OVER and coming.ended_on is None:
        return "You do not keep the car, so it has stopped"
    assert coming.ended is not None  # noqa: S101 - one of the two is there
    return _ENDED[coming.ended].format(day=coming.ended_on and day(coming.ended_on))


def _entered(repeat: Repeat, today: date, *, is_new: bool) -> str:
    """Say what was entered, and when what is due already is made, if anything is."""
    if not is_new:
        return f"Already entered, nothing was added: {repeat}."
    following = next_dues(repeating_of(repeat), repeat.made_until, 1)
    is_due = following and following[0].on <= today
    soon = " What is due already is made within the hour, between 4 in the morning and 11 at night." if is_due else ""
    return f"Entered: {repeat}.{soon}"
