"""Handing a car over to another member."""

from django.http import HttpResponse
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day
from fleet import queries
from fleet.actions import hand_over
from fleet.core.days import ONE_DAY
from fleet.core.registration import show
from fleet.forms import HandOverForm
from instructors.access import MemberRequest, coordinators_only
from instructors.queries import active_members


@read_or_write
@coordinators_only
def car_hand_over(request: MemberRequest, mark: str) -> HttpResponse:
    """Hand a car over to another member: coordinators only."""
    car, today = queries.car_for(request.user, mark), timezone.localdate()
    times = queries.keeperships_of(car)
    has_keeper = times[-1].last is None
    others = [member for member in active_members(today) if member != car.keeper or not has_keeper]
    form = HandOverForm(posted(request), keepers=others, today=today)
    form.put_odometer(request.user, car, today)

    def save() -> HttpResponse:
        kept = hand_over(by=request.user, car=car, **form.cleaned_data)
        since = day(form.cleaned_data["on"] + ONE_DAY)
        words = f"{kept.keeper.name} keeps {show(kept.registration)} from {since} on."
        return go_on(request, words, "fleet:car", kept.registration)

    return form_page(request, "fleet/car_hand_over.html", form, save, {"car": car, "has_keeper": has_keeper})
