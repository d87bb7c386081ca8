"""A coordinator's reminder to one keeper."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST

from config.form_page import go_on
from fleet import actions, queries
from fleet.models import MailKind
from instructors.access import MemberRequest
from instructors.models import Member


@require_POST
def car_remind(request: MemberRequest, mark: str) -> HttpResponse:
    """Have the keeper of a car reminded by mail of what they have to see to, once a day."""
    car, today = queries.car_for(request.user, mark), timezone.localdate()
    if not queries.may_be_reminded_by(request.user, car, today):
        raise Http404
    is_new = actions.queue_mail(to=car.keeper, kind=MailKind.ASKED, asked_by=request.user) is not None
    asked = asked_words(queries.asked_for_on(today).get(car.keeper_id), request.user)
    if request.htmx:
        return render(request, "fleet/_car_remind.html", {"car": car, "asked": asked})
    if is_new:
        return go_on(request, f"{car.keeper.name} is being reminded by e-mail.", "fleet:car-list")
    words = f"{car.keeper.name}: {asked}. Once a day is enough."
    return go_on(request, words, "fleet:car-list", level=messages.INFO)


def asked_words(asked_by: Member | None, viewer: Member) -> str:
    """Who has had a keeper reminded today, as ``viewer`` reads it; empty for nobody."""
    if asked_by is None:
        return ""
    return "reminded today" if asked_by == viewer else f"reminded today by {asked_by.name}"
