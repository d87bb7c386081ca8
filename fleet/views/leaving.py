"""A member leaves: their last day, and what becomes of their cars."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.http import HttpResponse
from django.utils import timezone

from config.fields import DayField
from config.form_page import Context, form_page, go_on, posted
from config.http import read_or_write
from config.showing import day
from fleet import queries
from fleet.actions import leave
from fleet.forms import LeavingForm
from fleet.models import Car, Defect, DefectState
from fleet.views.wording import DueWords, words_of
from instructors.access import MemberRequest, coordinators_only
from instructors.actions import record_return
from instructors.models import Member
from instructors.queries import active_members, member_or_404


class LeavingCar(NamedTuple):
    """A car on the page: its two fields, and what goes with it."""

    car: Car
    fields: list[BoundField]
    items: list[DueWords]
    defects: list[Defect]


@coordinators_only
@read_or_write
def member_leave(request: MemberRequest, pk: int) -> HttpResponse:
    """Record a member's last day and what becomes of their cars, or remove that day."""
    member, today = member_or_404(pk), timezone.localdate()
    if request.method == "POST" and "back" in request.POST:
        record_return(by=request.user, member=member)
        return go_on(request, f"{member.name} is staying and can sign in.", "instructors:people")
    left_on = _day_asked(request) or member.left_on or today
    cars = queries.cars_left_by(member, left_on)
    takers = [one for one in active_members(today) if one != member]
    form = LeavingForm(posted(request), left_on=left_on, today=today, cars=cars, takers=takers)
    for car in cars:
        form.put_odometer(request.user, car, today, f"odometer_{car.pk}")

    def save() -> HttpResponse:
        last = form.cleaned_data["left_on"]
        left = leave(by=request.user, member=member, left_on=last, cars=form.becomes)
        words = f"{left.name}'s last day is {day(last)}."
        if cars and last > today:
            words += " What becomes of their car is decided once it has come: the list of cars shows it."
        return go_on(request, words, "instructors:people")

    return form_page(request, "fleet/member_leave.html", form, save, lambda: _context(member, form))


def _day_asked(request: MemberRequest) -> date | None:
    """The last day that was typed: on an earlier one than was proposed the member may have kept other cars too."""
    try:
        return DayField(may_be_ahead=True).clean(request.POST.get("left_on"))
    except ValidationError:
        return None


def _context(member: Member, form: LeavingForm) -> Context:
    report = queries.due_report(timezone.localdate(), cars=form.cars, members=[member])
    items = {due.car.pk: [words_of(line) for line in due.items] for due in report.cars}
    return {
        "member": member,
        "cars": list(_cars(form, items)),
        "credentials": [words_of(line) for due in report.members for line in due.items],
        "feed_count": len(queries.feeds_in_use(member)),
    }


def _cars(form: LeavingForm, items: dict[int, list[DueWords]]) -> Iterator[LeavingCar]:
    for car in form.cars:
        fields = [form[f"becomes_{car.pk}"], form[f"odometer_{car.pk}"]]
        defects = [defect for defect in queries.defects_of(car) if defect.state != DefectState.CLOSED]
        yield LeavingCar(car, fields, items.get(car.pk, []), defects)
